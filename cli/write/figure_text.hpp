#pragma once

#include <string>
#include <string_view>

#include "lowhiss/promise/check.hpp"

namespace lowhiss::cli {

/// A figure in its unit, rounded for people; a dash if it does not exist.
std::string figure_text(double value, Unit unit);

/// A difference of two figures: levels differ by decibels.
std::string delta_text(double difference, Unit unit);

/// "condenser, condenser-60p, knob 100 %": where a verdict or a figure was taken.
std::string place_text(const std::string& variant, const std::string& capsule, double knob);

/// "PASS", "FAIL", "ERROR", "UNKNOWN" or "ACCEPT"
std::string_view outcome_word(Outcome outcome);

/// "gain 53.65 dB at 1 kHz"
std::string measured_text(const Verdict& verdict);

/// "at least 20 dB", "at most 10 Hz" or "38 dB to 40 dB"; empty if there is no bound.
std::string bounds_text(const Verdict& verdict);

}  // namespace lowhiss::cli
