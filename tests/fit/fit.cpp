// Figures fitted to curves that were computed from known ones.

#include <cmath>
#include <complex>
#include <new>
#include <numbers>

#include "lowhiss/fit/fit_capsule.hpp"
#include "lowhiss/fit/fit_noise.hpp"
#include "lowhiss/fit/fit_taper.hpp"
#include "lowhiss/fit/least_squares.hpp"
#include "lowhiss/fit/taper_file.hpp"
#include "support/catch.hpp"

namespace lowhiss::fit_test {

/// Coil, and each resonance as R, L and C in parallel: not by the formula of the fit.
std::vector<ImpedancePoint> curve_of(const DynamicCapsule& capsule, double noise = 0) {
    std::vector<ImpedancePoint> points;
    for (int k = 0; k <= 90; ++k) {
        const double f_hz = 20 * std::pow(1000.0, k / 90.0);
        const std::complex<double> s{0, 2 * std::numbers::pi * f_hz};
        std::complex<double> z = capsule.coil_resistance_ohm + s * capsule.coil_inductance_h;
        for (const Resonance& r : capsule.resonances) {
            const double omega = 2 * std::numbers::pi * r.frequency_hz;
            const double l = r.resistance_ohm / (r.q * omega);
            const double c = r.q / (omega * r.resistance_ohm);
            z += 1.0 / (1 / r.resistance_ohm + 1.0 / (s * l) + s * c);
        }
        z *= 1 + noise * (k % 2 == 0 ? 1 : -1);
        points.push_back({f_hz, z.real(), z.imag()});
    }
    return points;
}

bool near(double found, double wished, double relative) {
    return std::abs(found / wished - 1) <= relative;
}

TEST_CASE("the fit finds the capsule that a curve is computed from", "[fit]") {
    const std::vector<Resonance> all{{110, 1.8, 120}, {2800, 2.2, 45}, {9000, 4, 60}};
    for (std::size_t count = 0; count <= all.size(); ++count) {
        const DynamicCapsule made{
            180, 0.5e-3, {all.begin(), all.begin() + static_cast<long>(count)}};
        const auto result = fit_capsule(curve_of(made), {});
        REQUIRE(std::holds_alternative<CapsuleFit>(result));
        const CapsuleFit& fit = std::get<CapsuleFit>(result);
        REQUIRE(fit.capsule.resonances.size() == count);
        // The figures are rounded to four digits: 5e-4 at most.
        CHECK(near(fit.capsule.coil_resistance_ohm, 180, 1e-3));
        CHECK(near(fit.capsule.coil_inductance_h, 0.5e-3, 1e-3));
        for (std::size_t k = 0; k < count; ++k) {
            CHECK(near(fit.capsule.resonances[k].frequency_hz, all[k].frequency_hz, 1e-3));
            CHECK(near(fit.capsule.resonances[k].q, all[k].q, 1e-3));
            CHECK(near(fit.capsule.resonances[k].resistance_ohm, all[k].resistance_ohm, 1e-3));
        }
        CHECK(fit.residual.worst < 1e-3);
    }
}

TEST_CASE("what no resonance explains stays in the residual", "[fit]") {
    const DynamicCapsule made{180, 0.5e-3, {{150, 2, 110}}};
    const auto result = fit_capsule(curve_of(made, 0.02), {});
    REQUIRE(std::holds_alternative<CapsuleFit>(result));
    const CapsuleFit& fit = std::get<CapsuleFit>(result);
    CHECK(fit.capsule.resonances.size() == 1);
    // Points 2 % too high and too low in turn: the middle is within 2 % of each.
    CHECK(near(fit.residual.rms, 0.02, 0.05));
    CHECK(near(fit.capsule.resonances.front().frequency_hz, 150, 0.01));
}

TEST_CASE("an impedance that no dynamic capsule has is refused", "[fit]") {
    std::vector<ImpedancePoint> condenser;
    for (const double f_hz : {20., 50., 100., 200., 500., 1e3, 2e3, 5e3, 1e4}) {
        condenser.push_back({f_hz, 10, -1 / (2 * std::numbers::pi * f_hz * 60e-12)});
    }
    const auto result = fit_capsule(condenser, {});
    REQUIRE(std::holds_alternative<FitProblem>(result));
    CHECK(std::get<FitProblem>(result).found.find("condenser") != std::string::npos);
    condenser.resize(3);
    const auto few = fit_capsule(condenser, {});
    REQUIRE(std::holds_alternative<FitProblem>(few));
    CHECK(std::get<FitProblem>(few).found == "3 points from 20 Hz to 20 kHz are too few");
}

// density² = floor² (1 + corner / f): the definition of the corner.
TEST_CASE("noise: floor and corner", "[fit]") {
    const auto at = [](double f_hz) { return NoisePoint{f_hz, 3.5e-9 * std::sqrt(1 + 45 / f_hz)}; };
    for (const auto& points : {std::vector{at(1000), at(10)}, {at(1), at(10), at(100), at(1e4)}}) {
        const auto result = fit_noise(points);
        REQUIRE(std::holds_alternative<NoiseFit>(result));
        CHECK(near(std::get<NoiseFit>(result).floor, 3.5e-9, 1e-9));
        CHECK(near(std::get<NoiseFit>(result).corner_hz, 45, 1e-8));
        CHECK(std::get<NoiseFit>(result).residual.worst < 1e-9);
    }
    const auto flat = fit_noise({{10, 2e-9}, {1000, 2e-9}});
    REQUIRE(std::holds_alternative<NoiseFit>(flat));
    CHECK(std::get<NoiseFit>(flat).corner_hz < 1e-6);
    // Ten times the density at a hundredth of the frequency is 1/f noise alone: no floor is left.
    CHECK(std::holds_alternative<FitProblem>(fit_noise({{10, 10e-9}, {1000, 1e-9}})));
    CHECK(std::holds_alternative<FitProblem>(fit_noise({{10, 2e-9}, {1000, 3e-9}})));
    CHECK(std::holds_alternative<FitProblem>(fit_noise({{10, 2e-9}, {10, 3e-9}})));
    CHECK(std::holds_alternative<FitProblem>(fit_noise({{10, 2e-9}})));
}

TEST_CASE("taper: resistances become fractions of the track above the end", "[fit]") {
    const auto result = fit_taper({{0, 2}, {0.5, 1502}, {1, 10002}}, true);
    REQUIRE(std::holds_alternative<TaperFit>(result));
    const TaperFit& fit = std::get<TaperFit>(result);
    CHECK(fit.resistance_ohm == 10000);
    CHECK(fit.end_resistance_ohm == 2);
    CHECK(fit.points == std::vector<std::pair<double, double>>{{0, 0}, {0.5, 0.15}, {1, 1}});
    const auto refused = [](const std::vector<std::pair<double, double>>& positions) {
        return std::holds_alternative<FitProblem>(fit_taper(positions, true));
    };
    CHECK(refused({{0, 2}, {0.5, 1500}, {0.6, 1400}, {1, 10000}}));
    CHECK(refused({{0, 10000}, {0.5, 1500}, {1, 2}}));
    CHECK(refused({{0, 2}, {1, 10000}}));
    CHECK(refused({{0.1, 2}, {0.5, 1500}, {1, 10000}}));
    CHECK(refused({{0, 5}, {0.5, 5}, {1, 5}}));
}

TEST_CASE("a file of positions says what its columns are", "[fit]") {
    const auto read = [](const char* text, Diagnostics& out) {
        return read_taper_file(std::make_shared<const Source>(Source{"pot.csv", text}), out);
    };
    Diagnostics out;
    const auto good = read("# panel pot\nrotation,resistance_ohm\n0,2\n0.5,1502\n1,10002\n", out);
    REQUIRE(good);
    CHECK(good->in_ohm);
    CHECK(good->positions.size() == 3);
    CHECK(out.empty());
    for (const char* bad : {"", "0,2\n1,3\n", "rotation,ohm\n0,2\n", "rotation,fraction\n0,-1\n",
                            "rotation,fraction\n1.5,1\n", "rotation,fraction\n0,x\n"}) {
        Diagnostics told;
        CHECK_FALSE(read(bad, told));
        CHECK_FALSE(told.empty());
    }
}

TEST_CASE("least squares: Rosenbrock's valley, and an exception on the way", "[fit]") {
    // Problem 1 of More, Garbow, Hillstrom: "Testing Unconstrained Optimization Software", ACM
    // TOMS 7 (1981): from (-1.2, 1) to (1, 1), where both residuals are 0.
    const Residuals valley = [](const std::vector<double>& x) {
        return std::vector<double>{10 * (x[1] - x[0] * x[0]), 1 - x[0]};
    };
    const std::vector<double> found = least_squares(valley, {-1.2, 1});
    CHECK_THAT(found[0], Catch::Matchers::WithinAbs(1, 1e-7));  // its tolerance is 1.5e-8
    CHECK_THAT(found[1], Catch::Matchers::WithinAbs(1, 1e-7));
    int calls = 0;
    const Residuals failing = [&](const std::vector<double>& x) {
        if (++calls == 4) throw std::bad_alloc();
        return valley(x);
    };
    CHECK_THROWS_AS(least_squares(failing, {-1.2, 1}), std::bad_alloc);
    CHECK(calls == 4);
}

}  // namespace lowhiss::fit_test
