#pragma once

#include <string>

#include "lowhiss/promise/check.hpp"

namespace lowhiss::cli {

/// A figure in its unit, rounded for people; a dash if it does not exist.
std::string figure_text(double value, Unit unit);

/// A difference of two figures: levels differ by decibels.
std::string difference_text(double difference, Unit unit);

/// "condenser, condenser-60p, knob 100 %": where a verdict or a figure was taken.
std::string place_text(const std::string& variant, const std::string& capsule, double knob);

/// "at least 20 dB", "at most 10 Hz" or "38 dB to 40 dB"; empty if there is no bound.
std::string bounds_text(const Verdict& verdict);

/// "Heron, revision C, variant condenser"
std::string board_title(const std::string& name, const std::string& revision,
                        const std::string& variant);

}  // namespace lowhiss::cli
