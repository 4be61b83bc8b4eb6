#include "write/figure_text.hpp"

#include <fmt/format.h>

#include <cmath>

#include "lowhiss/quantity/print.hpp"

namespace lowhiss::cli {

std::string figure_text(double value, Unit unit) {
    if (std::isnan(value)) return "-";
    if (unit == Unit::polarity) {
        return value > 0.5    ? "in phase"
               : value < -0.5 ? "inverted"
                              : "neither in phase nor inverted";
    }
    if (unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl) {
        return fmt::format("{:.2f} {}", value, info(unit).symbol);
    }
    if (unit == Unit::hertz && std::abs(value) < 1) return fmt::format("{:.4g} Hz", value);
    return print_quantity(value, unit, 4);
}

std::string delta_text(double difference, Unit unit) {
    if (unit == Unit::polarity) return fmt::format("{:.3g}", difference);
    const bool level = unit == Unit::dbu || unit == Unit::db_spl;
    return figure_text(difference, level ? Unit::decibel : unit);
}

std::string place_text(const std::string& variant, const std::string& capsule, double knob) {
    std::string text = variant.empty() ? std::string(plain_variant) : variant;
    if (!capsule.empty()) text += ", " + capsule;
    if (!std::isnan(knob)) text += fmt::format(", knob {:.4g} %", 100 * knob);
    return text;
}

std::string_view outcome_word(Outcome outcome) {
    switch (outcome) {
        case Outcome::pass:
            return "PASS";
        case Outcome::fail:
            return "FAIL";
        case Outcome::not_computed:
            return "ERROR";
    }
    return "";
}

std::string measured_text(const Verdict& verdict) {
    std::string text = verdict.measure + " " + figure_text(verdict.value, verdict.unit);
    if (!std::isnan(verdict.at_hz)) text += " at " + figure_text(verdict.at_hz, Unit::hertz);
    return text;
}

std::string bounds_text(const Verdict& verdict) {
    const bool has_min = !std::isnan(verdict.min);
    const bool has_max = !std::isnan(verdict.max);
    if (verdict.unit == Unit::polarity) {
        if (verdict.min > 0) return "in phase";
        if (verdict.max < 0) return "inverted";
        return has_min ? "not inverted" : "not in phase";
    }
    const std::string min = figure_text(verdict.min, verdict.unit);
    const std::string max = figure_text(verdict.max, verdict.unit);
    if (has_min && has_max) return min + " to " + max;
    if (has_min) return "at least " + min;
    return has_max ? "at most " + max : "";
}

}  // namespace lowhiss::cli
