// F = 1 + (en^2 + in^2 Rs^2) / (4kT0 Rs), least at Rs = en / in: 1 + en in / (2kT0). T0 = 290 K,
// the standard temperature of noise figures. Textbook; the decibels computed by an independent
// script.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::noise_factor_test {

struct Row {
    double en_nv, in_pa, best_ohm, best_db, db_150, db_200, db_10k;
};
constexpr Row table[] = {
    {5.0, 0.7, 7142.9, 1.5748, 10.5733, 9.4503, 1.6496},
    {4.5, 0.5, 9000.0, 1.0754, 9.7459, 8.6481, 1.0807},
    {3.5, 0.4, 8750.0, 0.6998, 7.8538, 6.8362, 0.7055},
    {1.1, 1.7, 647.1, 0.9115, 1.8490, 1.5040, 4.4902},
    {0.9, 2.0, 450.0, 0.8806, 1.3819, 1.1489, 5.4439},
    {0.85, 1.0, 850.0, 0.4381, 1.1731, 0.9274, 2.1190},
    {1.0, 2.0, 500.0, 0.9683, 1.6248, 1.3422, 5.4454},
};

/// A follower: the current noise of its minus input flows into its output and has no effect.
double noise_figure_db(const Row& row, double source_ohm) {
    return test::measures_of(
               {.parts = R"(U1 = { opamp = "part", plus = "in", minus = "out", out = "out" })",
                .capsule = fmt::format("kind = \"resistive\"\nresistance = {}\n", source_ohm),
                .tables = fmt::format("[opamp.part]\nopen_loop_gain = 1e6\ngain_bandwidth = 1e12\n"
                                      "voltage_noise = {}e-9\ncurrent_noise = {}e-12\n",
                                      row.en_nv, row.in_pa),
                .board = "temperature = 290"})
        .noise_figure_db;
}

// Printed to four decimals; the integrals add 1e-7 of power.
constexpr double half_a_digit_db = 5.1e-5;

TEST_CASE("noise figures of op-amps by their en and in") {
    for (const Row& row : table) {
        CAPTURE(row.en_nv, row.in_pa);
        CHECK_THAT(noise_figure_db(row, 150), WithinAbs(row.db_150, half_a_digit_db));
        CHECK_THAT(noise_figure_db(row, 200), WithinAbs(row.db_200, half_a_digit_db));
        CHECK_THAT(noise_figure_db(row, 10e3), WithinAbs(row.db_10k, half_a_digit_db));
        // Flat at its least: the fifth digit of the resistance does not matter.
        const double best = noise_figure_db(row, row.best_ohm);
        CHECK_THAT(best, WithinAbs(row.best_db, half_a_digit_db));
        CHECK(noise_figure_db(row, row.best_ohm / 1.1) > best);
        CHECK(noise_figure_db(row, row.best_ohm * 1.1) > best);
    }
}

}  // namespace lowhiss::noise_factor_test
