#pragma once

#include <span>
#include <string>
#include <string_view>

#include "lowhiss/quantity/band.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// The level of a test tone: of the output, in dBu, or of the sound at the capsule, in dB SPL.
struct ToneLevel {
    double db = 0;
    bool is_sound = false;
};

/// Arguments of a measure. Its schema says which of them it takes.
struct MeasureArguments {
    double at_hz = reference_hz;
    Band band;
    std::string part;
    double source_ohm = 200;  ///< in place of the capsule
    ToneLevel level;          ///< 0 dBu at the output if left out
};

/// The largest change of a figure against its baseline that is not reported: an absolute change in
/// the figure's unit (decibels for levels), or a fraction of the recorded figure.
struct Drift {
    double size;
    bool relative;
};

/// The facts about a measure that reading a board needs: its name, unit and arguments. The record
/// of the same name in `measure` has the function that computes it.
struct MeasureSchema {
    std::string_view name;
    Unit unit;
    bool takes_at;
    bool takes_band;
    bool takes_part;
    bool takes_source;
    bool takes_level;
    bool over_knob;  ///< one figure from all knob positions of an assembly
    Drift drift;     ///< allowed unless the board's [drift] says otherwise
    std::string_view about;
};

std::span<const MeasureSchema> measure_schemas();

/// Null where no measure has the name.
const MeasureSchema* find_measure_schema(std::string_view name);

/// On which boards there is no such figure, as a sentence; empty where nothing particular is known.
std::string_view unset_if(const MeasureSchema& schema);

/// Whether figures of the unit are compared by their difference and not by their ratio.
bool by_difference(Unit unit);

/// The unit that an allowance in [drift] is written in: decibels for levels, a percentage for what
/// is compared by its ratio.
Unit allowance_unit(Unit unit);

}  // namespace lowhiss
