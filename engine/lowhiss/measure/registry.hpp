#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// What a measure may be asked with. Which of it counts is in the measure's record.
struct MeasureArguments {
    double at_hz = 1000;
    Band band;
    std::string part;
};

/// A value, and the frequency where it was found when that is not given by the question.
struct MeasureValue {
    double value = unset;
    double at_hz = unset;
};

/// How far a figure may move from a baseline before it is a surprise: in decibels, degrees or
/// parts of the whole, or as a part of the figure itself.
struct Drift {
    double size;
    bool relative;
};

/// One measure: its name in limits and baselines, its unit and meaning, and how it is found. A
/// measure is taken at one setting, or, `over_knob`, from all knob positions of an assembly.
struct MeasureRecord {
    std::string_view name;
    Unit unit;
    bool takes_at;
    bool takes_band;
    bool takes_part;
    bool noise;  ///< its parts to look at are those that hiss
    std::string_view about;
    Drift drift;  ///< what a builder would not hear or notice
    MeasureValue (*at_setting)(Setting&, const MeasureArguments&);
    MeasureValue (*over_knob)(std::span<Setting* const>, const MeasureArguments&);
};

std::span<const MeasureRecord> measure_records();
const MeasureRecord* find_measure(std::string_view name);

/// Whether figures of the unit are compared by their difference and not by their ratio.
bool by_difference(Unit unit);

}  // namespace lowhiss
