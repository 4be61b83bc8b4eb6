// A picture's grid has the peaks of resonances, which lie between its own points. Source: the
// second-order low-pass of a series resonance, as in textbooks of network theory (Zverev, "Handbook
// of Filter Synthesis", 1967, from memory): |H| is Q / sqrt(1 - 1 / (4 Q^2)) at its highest, at
// f0 sqrt(1 - 1 / (2 Q^2)).

#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/sweep/peak_grid.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::peaks_test {

constexpr double henry = 0.1;
constexpr double farad = 220e-9;
constexpr double ohm = 22.47;

const test::Stage resonance{.parts = R"(
R1 = { resistor = "22.47R", pins = ["in", "a"] }
L1 = { inductor = "100m", pins = ["a", "out"] }
C1 = { capacitor = "220n", pins = ["out", "gnd"] }
)"};

/// 20 a decade, as on the page of a report.
std::vector<double> grid() {
    std::vector<double> grid;
    for (int k = 0; k <= 86; ++k) grid.push_back(10 * std::pow(10.0, k / 20.0));
    return grid;
}

/// At most the error of a straight line in decibels over ln f between neighbours of a grid.
double worst_line_db(const std::vector<double>& grid_hz, double f0, double q) {
    const auto exact_db = [&](double f_hz) {
        const double x = f_hz / f0;
        return -10 * std::log10(std::pow(1 - x * x, 2) + std::pow(x / q, 2));
    };
    double worst = 0;
    for (std::size_t k = 1; k < grid_hz.size(); ++k) {
        const double low = exact_db(grid_hz[k - 1]);
        const double high = exact_db(grid_hz[k]);
        for (int part = 1; part < 20; ++part) {
            const double along = part / 20.0;
            const double f_hz = grid_hz[k - 1] * std::pow(grid_hz[k] / grid_hz[k - 1], along);
            worst = std::max(worst, std::abs(exact_db(f_hz) - std::lerp(low, high, along)));
        }
    }
    return worst;
}

TEST_CASE("the grid of a picture has the peak of a resonance", "[peaks]") {
    const double f0 = 1 / (2 * std::numbers::pi * std::sqrt(henry * farad));
    const double q = std::sqrt(henry / farad) / ohm;
    REQUIRE_THAT(q, WithinRel(30, 1e-3));
    const double peak_db = 20 * std::log10(q / std::sqrt(1 - 1 / (4 * q * q)));
    const Board board = test::board_of(resonance);
    SweepRequest request;
    request.frequency_hz = grid();
    const auto highest_db = [&] {
        const std::vector<double> gain_db = sweep(board, request).runs[0].knob[0].gain_db;
        return *std::max_element(gain_db.begin(), gain_db.end());
    };
    CHECK(highest_db() < peak_db - 6);  // the top that was flat
    request.frequency_hz = grid_with_peaks(board, request);
    CHECK(std::abs(highest_db() - peak_db) < 1e-6);
    const double peak_hz = f0 * std::sqrt(1 - 1 / (2 * q * q));
    const auto near = [&](double f_hz) { return std::abs(f_hz / peak_hz - 1) < 1e-5; };
    CHECK(std::count_if(request.frequency_hz.begin(), request.frequency_hz.end(), near) == 1);
    CHECK(std::is_sorted(request.frequency_hz.begin(), request.frequency_hz.end()));
    // Its flanks are drawn too; a screen shows less than 1 dB of 40 on a picture of 300 pixels.
    CHECK(worst_line_db(grid(), f0, q) > 9);
    CHECK(worst_line_db(request.frequency_hz, f0, q) < 1);
    CHECK(request.frequency_hz.size() < grid().size() + 40);
}

TEST_CASE("a grid that shows all of a curve stays as it is", "[peaks]") {
    SweepRequest request;
    request.frequency_hz = grid();
    const Board divider = test::board_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
C1 = { capacitor = "10n", pins = ["out", "gnd"] }
)"});
    CHECK(grid_with_peaks(divider, request) == grid());
    request.frequency_hz = {1000};
    CHECK(grid_with_peaks(test::board_of(resonance), request) == std::vector<double>{1000});
    request.frequency_hz = {};
    CHECK(grid_with_peaks(test::board_of(resonance), request).empty());
}

TEST_CASE("frequencies are merged in order, and each once", "[peaks]") {
    std::vector<double> grid_hz{10, 100, 1000};
    const std::vector<double> added{5, 100, 100.0005, 300, 2000};
    merge_frequencies(grid_hz, added);
    CHECK(grid_hz == std::vector<double>{5, 10, 100, 300, 1000, 2000});
}

}  // namespace lowhiss::peaks_test
