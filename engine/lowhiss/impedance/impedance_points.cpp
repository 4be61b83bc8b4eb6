#include "lowhiss/impedance/impedance_points.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "lowhiss/quantity/quote.hpp"

namespace lowhiss::impedance_file {
namespace {

/// Relative to |Z|: what rounding may take a reactance's resistance below zero.
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
        faults_.add(field, fmt::format("the frequency {} stands twice", quote(field.text)),
                    "ascending frequencies", "keep one of the two lines");
    } else if (frequency_hz < previous_hz) {
        faults_.add(field, fmt::format("{} is below the frequency before it", quote(field.text)),
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
            points_.empty() ? "there is no point in it" : "there is only one point",
            "at least two points, which the impedance is interpolated between");
    }
    if (faults_.any()) points_.clear();
    return std::move(points_);
}

}  // namespace lowhiss::impedance_file
