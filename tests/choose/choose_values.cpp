// Values chosen by result: against textbook examples and exhaustive loops over closed forms.

#include "lowhiss/choose/choose_values.hpp"

#include <fmt/format.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "lowhiss/board/board_lines.hpp"
#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/preferred.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::choose_test {

double chosen_value(const Board& board, const ChosenSet& set, std::size_t open) {
    const std::string& text = board.choose->open[open].values[set.values[open]];
    return std::get<double>(parse_quantity(text, Unit::ohm));
}

/// An amplifier without frequency: V(out) = (1 + Rf / R) V(in).
std::string adjustable(double gain, const char* choice) {
    const double db = 20 * std::log10(gain);
    return fmt::format(R"([parts]
R1 = {{ resistor = "10k", pins = ["out", "fb"] }}
R2 = {{ resistor = "4k", pins = ["fb", "gnd"] }}
E1 = {{ voltage_gain = 1e9, control = ["in", "fb"], pins = ["out", "gnd"] }}
R3 = {{ resistor = "1k", pins = ["in", "gnd"] }}
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "gain"
measure = "gain"
min = "{} dB"
max = "{} dB"
[choose]
parts = {{ {} }}
)",
                       db - 2, db + 2, choice);
}

// TPSM84209 data sheet (Texas Instruments), Table 1: V = 0.6 V (1 + 10 k / R), R of E96, for 49
// voltages. The nearest R and the nearest V part at some of them; by result it is the nearest V.
TEST_CASE("49 resistors for 49 voltages are chosen by the voltage, not by the nearest resistor") {
    const std::vector<double> e96 = preferred_values("E96", 1e3, 1e4);
    int apart = 0;
    for (int k = 12; k <= 60; ++k) {
        const double wished_v = k / 10.0;
        const double wished_ohm = 10e3 / (wished_v / 0.6 - 1);
        double by_result = 0;
        double by_value = 0;
        for (const double ohm : e96) {
            const auto error = [&](double r) {
                return std::abs(std::log((1 + 10e3 / r) / (wished_v / 0.6)));
            };
            if (by_result == 0 || error(ohm) < error(by_result)) by_result = ohm;
            if (std::abs(ohm - wished_ohm) < std::abs(by_value - wished_ohm)) by_value = ohm;
        }
        apart += by_result != by_value ? 1 : 0;
        const Board board = test::board_from_text(
            adjustable(wished_v / 0.6, "R2 = { series = \"E96\", from = \"1k\", to = \"10k\" }"));
        const Chosen chosen = choose_values(board, {.best = 1});
        INFO(wished_v);
        REQUIRE(chosen.best.size() == 1);
        CHECK(chosen.complete);
        CHECK(chosen.sets == 97);
        CHECK(chosen_value(board, chosen.best[0], 0) == by_result);
    }
    CHECK(apart > 0);
}

// Franco, Design with Operational Amplifiers, 3rd ed., Example 3.8: an equal-part Sallen-Key filter
// of 1 kHz and Q 5 with 10 nF. Its parts, each rounded to E96 (15.8 k; 10 k and 17.8 k), give
// 1007.3 Hz and a Q of 4.545. f0 = 1 / 2 pi R C and Q = 1 / (3 - K), K = 1 + RB / RA.
TEST_CASE("a filter comes out with the Q that was asked for") {
    const Board board = test::board_from_text(R"([parts]
R1 = { resistor = "15k8", pins = ["in", "a"] }
R2 = { resistor = "15k8", pins = ["a", "b"] }
C1 = { capacitor = "10n", pins = ["a", "out"] }
C2 = { capacitor = "10n", pins = ["b", "gnd"] }
RA = { resistor = "10k", pins = ["fb", "gnd"] }
RB = { resistor = "17k8", pins = ["out", "fb"] }
E1 = { voltage_gain = 1e9, control = ["b", "fb"], pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "Q"                       # gain at 1 kHz over that of direct current, 20 log 5 = 13.979 dB
measure = "attenuation"
at = "1 Hz"
min = "13.879 dB"
max = "14.079 dB"
[[limit]]
name = "frequency"               # -90 degrees at f0
measure = "phase"
min = "-95 deg"
max = "-85 deg"
[choose.parts]
R1 = { series = "E96", from = "15k", to = "17k" }
RA = { series = "E24", from = "10k", to = "30k" }
RB = { series = "E24", from = "10k", to = "60k" }
[[choose.tied]]
parts = ["R1", "R2"]
)");
    const Chosen chosen = choose_values(board, {.best = 1});
    REQUIRE(chosen.best.size() == 1);
    const double r = chosen_value(board, chosen.best[0], 0);
    const double k =
        1 + chosen_value(board, chosen.best[0], 2) / chosen_value(board, chosen.best[0], 1);
    const double q = 1 / (3 - k);
    const double f0_hz = 1 / (2 * std::numbers::pi * r * 10e-9);
    // 1.8 falls between the ratios of E96, and is one of E24: 18 k over 10 k.
    CHECK(q == Approx(5).epsilon(1e-9));
    CHECK(f0_hz == Approx(1000).epsilon(0.009));
    // The rounded parts of the book miss the same limits.
    CHECK_FALSE(chosen.drawn.verdicts.good());
}

// Franco, Example 7.8: the resistors of a stage are made smaller until its noise is within a
// budget. Here by the closed form of a divider with an ideal amplifier: sqrt(4 k T R B) of R1
// parallel R2.
TEST_CASE("the largest resistors within a budget of noise") {
    const Board board = test::board_from_text(R"([parts]
R1 = { resistor = "10k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "noise"
measure = "output_noise"
max = "1 uV"
[choose]
most = "input_impedance"
parts = { R1 = { series = "E24", from = "1k", to = "100k" } }
[[choose.tied]]
parts = ["R1", "R2"]
)");
    const Chosen chosen = choose_values(board, {.best = 3});
    const double four_kt = 4 * 1.380649e-23 * 293.15;
    double largest = 0;
    for (const double ohm : preferred_values("E24", 1e3, 1e5)) {
        if (std::sqrt(four_kt * ohm / 2 * 19980) <= 1e-6) largest = ohm;
    }
    REQUIRE(chosen.best.size() == 3);
    CHECK(chosen_value(board, chosen.best[0], 0) == largest);
    CHECK(chosen.best[0].verdicts.figure.value == Approx(2 * largest).epsilon(1e-9));
    CHECK(chosen.fit + chosen.counts[0].tried - chosen.counts[0].meet == chosen.tried);
    CHECK(find_part(board_with_values(board, chosen.best[0].values), "R2")->data.index() ==
          find_part(board, "R2")->data.index());
}

TEST_CASE("a search finds what computing all sets finds, whatever the number of cores") {
    const Board board =
        test::board_from_text(adjustable(7.3, "R1 = \"E24\", R2 = \"E24\", R3 = [\"1k\", \"2k\"]"));
    const Chosen all = choose_values(board, {.best = 1});
    REQUIRE(all.complete);
    CHECK(all.tried == 49 * 48 * 2);
    ChooseRequest request{.best = 1, .seed = 7, .starts = 24, .complete = 100};
    const Chosen found = choose_values(board, request);
    CHECK_FALSE(found.complete);
    CHECK(found.tried < all.tried);
    REQUIRE(found.best.size() == 1);
    CHECK(found.best[0].verdicts.room == Approx(all.best[0].verdicts.room).epsilon(1e-9));
    const Chosen again = choose_values(board, request);
    CHECK(again.best[0].values == found.best[0].values);
    CHECK(again.tried == found.tried);
    CHECK(again.reached == found.reached);
}

TEST_CASE("where no set fits, the limit in the way and the nearest set are told") {
    const Board board = test::board_from_text(adjustable(1e4, "R2 = \"E6\""));
    const Chosen chosen = choose_values(board, {});
    CHECK(chosen.best.empty());
    CHECK(chosen.fit == 0);
    CHECK(chosen.counts[0].meet == 0);
    CHECK(chosen.counts[0].tried == 12);
    REQUIRE_FALSE(chosen.near.empty());
    // Any gain is too small, so the smallest leg comes nearest.
    CHECK(chosen_value(board, chosen.near[0], 0) == 470);
}

TEST_CASE("a set that oscillates is refused, however good its figures") {
    const Board board = test::board_from_text(R"([parts]
R1 = { resistor = "100R", pins = ["in", "gnd"] }
SB1 = { link = "closed", pins = ["fb", "minus"] }
SB2 = { link = "open", pins = ["fb", "plus"] }
R2 = { resistor = "1k", pins = ["minus", "gnd"] }
R3 = { resistor = "1k", pins = ["plus", "in"] }
R4 = { resistor = "1k", pins = ["out", "fb"] }
U1 = { opamp = "fast", plus = "plus", minus = "minus", out = "out" }
[input]
plus = "in"
[output]
plus = "out"
[opamp.fast]
open_loop_gain = "100 dB"
gain_bandwidth = "10 MHz"
[choose]
most = "gain"
[choose.parts]
SB1 = ["closed", "open"]
SB2 = ["open", "closed"]
)");
    const Chosen chosen = choose_values(board, {});
    CHECK(chosen.refused > 0);
    CHECK(chosen.why_refused.find("stability: ") == 0);
    for (const ChosenSet& set : chosen.best) CHECK(set.verdicts.good());
}

TEST_CASE("values go into every variant that has none of its own, and into the revision") {
    const std::string text = R"([board]
name = "Siskin"
revision = "B"
[parts]
R1 = { resistor = "1k", pins = ["in", "out"], tolerance = "1 %", note = "metal film" }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[variants.own]
set = { R1 = "5k" }
[variants.wide]
set = { R1 = { tolerance = "5 %" } }
[choose]
least = "output_noise"
variant = "plain"
parts = { R1 = ["2k2", "4k7"] }
[[choose.tied]]
parts = ["R2", "R1"]
)";
    const Board board = test::board_from_text(text);
    const Board changed = board_with_values(board, {1});
    const auto ohm = [](const Board& assembled, const char* part) {
        return std::get<Resistor>(find_part(assembled, part)->data).resistance_ohm;
    };
    CHECK(ohm(changed, "R1") == 4700);
    CHECK(ohm(changed, "R2") == 4700);
    CHECK(ohm(with_variant(changed, find_variant(changed, "own")), "R1") == 5000);
    const Board wide = with_variant(changed, find_variant(changed, "wide"));
    CHECK(ohm(wide, "R1") == 4700);
    CHECK(std::get<Resistor>(find_part(wide, "R1")->data).tolerance.high == 0.05);

    const BoardReading read = read_board(
        "b/revision.toml",
        test::memory_reader({{"a/board.toml", text},
                             {"b/revision.toml", revision_text(board, {1}, "../a/board.toml")}}));
    INFO(test::all_text(read.diagnostics));
    REQUIRE(read.board);
    CHECK(board_lines(*read.board) == board_lines(changed));
    CHECK(read.board->revision == "B, chosen");
    CHECK(find_part(*read.board, "R1")->note == "metal film");
}

TEST_CASE("a series alone reaches a decade to both sides, and sets are numbered") {
    const Board board = test::board_from_text(adjustable(5, "R1 = \"E12\", R2 = \"E3\""));
    const Choose& choose = *board.choose;
    CHECK(choose.open[0].values.front() == "1 kΩ");
    CHECK(choose.open[0].values.back() == "100 kΩ");
    CHECK(choose.open[0].values.size() == 25);
    for (const std::uint64_t number : {0, 1, 57, 149}) {
        CHECK(number_of(choose, value_set(choose, number)) == number);
    }
    CHECK(sets_of(choose) == 25.0 * static_cast<double>(choose.open[1].values.size()));
}

}  // namespace lowhiss::choose_test
