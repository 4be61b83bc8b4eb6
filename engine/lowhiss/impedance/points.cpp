#include "lowhiss/impedance/points.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "lowhiss/quantity/quote.hpp"

namespace lowhiss::impedance_file {
namespace {

/// Relative to |Z|: how far below zero rounding may bring the resistance of a pure reactance.
constexpr double rounding = 1e-9;

}  // namespace

void Points::add(const Token& field, double frequency_hz) {
    check_frequency(field, frequency_hz);
    points_.push_back({frequency_hz, 0, 0});
}

void Points::set_impedance(const Token& field, std::complex<double> impedance_ohm) {
    check_impedance(field, impedance_ohm);
    points_.back().resistance_ohm = std::max(0.0, impedance_ohm.real());
    points_.back().reactance_ohm = impedance_ohm.imag();
}

void Points::check_frequency(const Token& field, double frequency_hz) const {
    const double previous_hz = points_.empty() ? 0 : points_.back().frequency_hz;
    if (!(frequency_hz > 0) || !std::isfinite(frequency_hz)) {
        faults_.add(field, fmt::format("{} is not a frequency above zero", quote(field.text)),
                    "positive, finite frequencies");
    } else if (frequency_hz == previous_hz) {
        faults_.add(field, fmt::format("the frequency {} is given twice", quote(field.text)),
                    "ascending frequencies", "keep one of the two lines");
    } else if (frequency_hz < previous_hz) {
        faults_.add(field, fmt::format("{} is below the previous frequency", quote(field.text)),
                    "ascending frequencies", "sort the lines by frequency");
    }
}

void Points::check_impedance(const Token& field, std::complex<double> impedance_ohm) const {
    if (!std::isfinite(impedance_ohm.real()) || !std::isfinite(impedance_ohm.imag())) {
        faults_.add(field, "the impedance is not finite", "a finite impedance",
                    "leave this point out");
    } else if (impedance_ohm.real() < -rounding * std::abs(impedance_ohm)) {
        faults_.add(field,
                    fmt::format("the resistance is negative: {:.6g} ohm", impedance_ohm.real()),
                    "a passive impedance, its phase within -90 to 90 degrees",
                    "check the sign of the phase and the calibration");
    }
}

std::vector<ImpedancePoint> Points::take() {
    if (!faults_.any() && points_.size() < 2) {
        faults_.add_for_file(
            points_.empty() ? "the file has no points" : "the file has only one point",
            "at least two points; between them the impedance is interpolated");
    }
    if (faults_.any()) points_.clear();
    return std::move(points_);
}

std::optional<std::array<double, 3>> three_numbers(const std::vector<Token>& fields,
                                                   std::string_view accepted, Faults& faults) {
    if (!has_columns(3, fields, accepted, faults)) return std::nullopt;
    const auto first = read_number(fields[0], faults);
    const auto second = read_number(fields[1], faults);
    const auto third = read_number(fields[2], faults);
    if (!first || !second || !third) return std::nullopt;
    return std::array{*first, *second, *third};
}

std::optional<std::complex<double>> polar(const Token& field, double magnitude, double angle_deg,
                                          Faults& faults) {
    if (magnitude >= 0) {
        return std::polar(magnitude, std::remainder(angle_deg, 360.0) * std::numbers::pi / 180);
    }
    faults.add(field, fmt::format("the magnitude {} is negative", quote(field.text)),
               "a magnitude of zero or more, the sign being in the angle");
    return std::nullopt;
}

}  // namespace lowhiss::impedance_file
