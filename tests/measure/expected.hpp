#pragma once

#include <map>
#include <string>

#include "lowhiss/measure/registry.hpp"
#include "support/stage.hpp"

namespace lowhiss::test {

/// The closed-form value of a measure, on a stage or on the board of a text.
struct Expected {
    const Stage* stage;
    double value;
    double margin;  ///< absolute
    MeasureArguments arguments{};
    std::string text{};
};

inline MeasureArguments at(double f_hz) {
    MeasureArguments arguments;
    arguments.at_hz = f_hz;
    return arguments;
}
inline MeasureArguments of(const std::string& part) {
    MeasureArguments arguments;
    arguments.part = part;
    return arguments;
}

/// Expectations for the measures that are neither response nor noise.
std::map<std::string, Expected> behaviour_expectations();

}  // namespace lowhiss::test
