#pragma once

#include <fmt/format.h>

#include <cmath>
#include <complex>
#include <memory>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "lowhiss/impedance/file.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"

namespace lowhiss::impedance_test {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

struct Outcome {
    std::vector<ImpedancePoint> points;
    Diagnostics faults;
};

inline Outcome read(std::string path, std::string text) {
    Outcome outcome;
    const auto file = std::make_shared<const Source>(Source{std::move(path), std::move(text)});
    outcome.points = read_impedance_file(file, outcome.faults);
    return outcome;
}

/// The points of every good file below: 30 + 40j ohm at 1 kHz, 60 - 80j ohm at 2 kHz.
using Complex = std::complex<double>;
inline const Complex z1(30, 40), z2(60, -80);

inline void check_good(const Outcome& outcome) {
    for (const Diagnostic& fault : outcome.faults) FAIL_CHECK(to_text(fault));
    REQUIRE(outcome.points.size() == 2);
    const Complex got[] = {{outcome.points[0].resistance_ohm, outcome.points[0].reactance_ohm},
                           {outcome.points[1].resistance_ohm, outcome.points[1].reactance_ohm}};
    // Numbers with 17 digits; S and decibels amplify their rounding some ten times.
    CHECK_THAT(outcome.points[0].frequency_hz, WithinRel(1000, 1e-15));
    CHECK_THAT(outcome.points[1].frequency_hz, WithinRel(2000, 1e-15));
    CHECK_THAT(got[0], test::CloseTo(z1, 1e-13));
    CHECK_THAT(got[1], test::CloseTo(z2, 1e-13));
}

inline double degrees(Complex value) {
    return std::arg(value) * 180 / std::numbers::pi;
}

inline std::string csv_row(double frequency_hz, Complex z) {
    return fmt::format("{},{:.17g},{:.17g}", frequency_hz, std::abs(z), degrees(z));
}
inline const std::string row1 = csv_row(1000, z1), row2 = csv_row(2000, z2);

struct Mistake {
    std::string text;
    int line, column;
    std::string found, advice = "";
};

inline void check_mistakes(const std::string& path, const std::vector<Mistake>& mistakes) {
    for (const Mistake& mistake : mistakes) {
        CAPTURE(mistake.text);
        const Outcome outcome = read(path, mistake.text);
        CHECK(outcome.points.empty());
        REQUIRE(outcome.faults.size() == 1);
        const Diagnostic& fault = outcome.faults[0];
        CHECK(fault.severity == Severity::error);
        CHECK(fault.code == "impedance-file");
        CHECK(fault.at.source->path == path);
        CHECK(fault.at.line == mistake.line);
        CHECK(fault.at.column == mistake.column);
        CHECK(fault.found == mistake.found);
        CHECK(fault.advice == mistake.advice);
        CHECK_FALSE(fault.accepted.empty());
    }
}

inline const std::string sorted = "sort the lines by frequency";
inline const std::string passive = "check the sign of the phase and the calibration";

}  // namespace lowhiss::impedance_test
