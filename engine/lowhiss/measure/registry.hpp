#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/measure_schema.hpp"
#include "lowhiss/board/part.hpp"

namespace lowhiss {

class Assembly;
class PartSensitivity;
class Setting;

/// The value of a measure, and the frequency at which it was found if that is not one of its
/// arguments.
struct MeasureValue {
    double value = unset;
    double at_hz = unset;
};

/// Whether ideal amplifiers and transistors give the largest or the smallest figure.
enum class IdealFigure { largest, smallest, either };

/// Everything about one measure. It is taken at one setting or, where its schema says `over_knob`,
/// from the gains at all knob positions of an assembly; the functions of the other kind are null.
struct MeasureRecord {
    using Slopes = std::vector<double>;
    using Gains = std::span<const double>;  ///< dB, by knob position
    using Sensitivities = std::span<PartSensitivity* const>;

    std::string_view name;  ///< of the schema, as is the unit
    Unit unit;
    const MeasureSchema* schema;

    MeasureValue (*at_setting)(Setting&, const MeasureArguments&);
    MeasureValue (*over_knob)(Gains, const MeasureArguments&);

    /// The change by 1 % of each part's value, as in PartSensitivity; null if the adjoint does not
    /// give it.
    Slopes (*slope)(PartSensitivity&, const MeasureArguments&) = nullptr;
    Slopes (*slope_over_knob)(Sensitivities, const MeasureArguments&) = nullptr;

    /// For limits: the value that stands for an unset figure when the setting has a gain and the
    /// whole range of frequencies was searched. Null where an unset figure has no value at all.
    double (*when_not_found)(Setting&) = nullptr;

    /// Keys of model schemas. If a model lacks one of them, it is computed as ideal and the figure
    /// is too good. Each schema of amplifiers and transistors has its own keys for noise.
    std::span<const std::string_view> rests_on{};
    IdealFigure ideal = IdealFigure::either;  ///< of a model without those

    /// The figure is best where a balance is exact and falls off to both sides. A slope beside such
    /// a peak holds for changes far smaller than any tolerance, and is not reported.
    bool cusp = false;

    /// The parts to look at are the noisiest, not those that move the figure most.
    bool noise = false;

    /// Whether the parts to look at are those that take the bass, if a limit on the figure fails
    /// below 1 kHz by loss of bass: `loss` for a figure that is the loss, `gain` for one that is
    /// too small by it.
    enum class Bass { none, loss, gain };
    Bass bass = Bass::none;

    /// The parts that the figure itself names, the first one first: the amplifier that clips or
    /// slews, the parts that distort. Null for other measures.
    std::vector<std::string> (*named_parts)(Setting&, const MeasureArguments&) = nullptr;
};

/// In the order of the schemas, one for each.
std::span<const MeasureRecord> measure_records();

/// Null where no measure has the name.
const MeasureRecord* find_measure(std::string_view name);
const MeasureRecord& record_of(const MeasureSchema& schema);

/// The value at the rotation, or from all positions for a measure over the knob. Throws as
/// Assembly::setting.
MeasureValue value_of(const MeasureRecord& measure, const MeasureArguments& arguments,
                      Assembly& assembly, double rotation);

/// The change of the figure by 1 % of each part's value, as in PartSensitivity; unset without a
/// slope.
std::vector<double> slope_of(const MeasureRecord& measure, const MeasureArguments& arguments,
                             PartSensitivity& sensitivity);
std::vector<double> slope_over_knob(const MeasureRecord& measure, const MeasureArguments& arguments,
                                    std::span<PartSensitivity* const> sensitivities);

}  // namespace lowhiss
