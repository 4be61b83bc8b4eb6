#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/measure_schema.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// A value, and the frequency where it was found when that is not given by the question.
struct MeasureValue {
    double value = unset;
    double at_hz = unset;
};

/// How a measure is found: at one setting, or, where its schema says `over_knob`, from all knob
/// positions of an assembly.
struct MeasureRecord {
    std::string_view name;  ///< of the schema, as is the unit
    Unit unit;
    const MeasureSchema* schema;
    bool noise;  ///< the parts to look at are those that make noise
    MeasureValue (*at_setting)(Setting&, const MeasureArguments&);
    MeasureValue (*over_knob)(std::span<Setting* const>, const MeasureArguments&);
};

std::span<const MeasureRecord> measure_records();
const MeasureRecord* find_measure(std::string_view name);
const MeasureRecord& record_of(const MeasureSchema& schema);

}  // namespace lowhiss
