// Bass loss by inductors, transformers and the capsule, and by parts that cause it together,
// against closed forms.

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::bass_causes_test {

using test::parallel;
using test::s_at;
using test::Z;

const std::string source_200 = "kind = \"resistive\"\nresistance = \"200R\"\n";
const std::string condenser = "kind = \"condenser\"\ncapacitance = \"60p\"\n";

double db(Z ratio) {
    return 20 * std::log10(std::abs(ratio));
}

/// A setting with the objects that it refers to.
struct Bench {
    explicit Bench(const test::Stage& stage)
        : board(test::board_of(stage)), setting(board, test::capsule_of(board), 0) {}

    const Rolloff& of(const std::string& part) {
        for (const PartRolloff& each : setting.rolloff()) {
            if (each.part == part) return each.rolloff;
        }
        throw std::runtime_error("no rolloff of " + part);
    }

    Board board;
    Setting setting;
};

std::vector<std::string> names_of(const PartBassLoss& loss) {
    std::vector<std::string> names;
    for (const PartRolloff& cause : loss.causes) names.push_back(cause.part);
    return names;
}

using Names = std::vector<std::string>;

TEST_CASE("an inductor across the signal: corner (Rs || R) / (2 pi L)", "[bass]") {
    Bench bench({.parts = R"(
L1 = { inductor = "2", pins = ["in", "out"] , series_resistance = "0R1" }
L2 = { inductor = "4", pins = ["out", "gnd"] }
R1 = { resistor = "3k3", pins = ["out", "gnd"] }
)",
                 .capsule = source_200});
    // L1 is in series with the signal: it takes treble, not bass.
    CHECK_FALSE(bench.of("L1").in_the_way);
    const Rolloff& found = bench.of("L2");
    CHECK(found.cause == BassCause::inductor);
    CHECK(found.in_the_way);
    const auto gain = [](Z shunt_ohm, double f_hz) {
        return shunt_ohm / (200.1 + s_at(f_hz) * 2.0 + shunt_ohm);
    };
    const Z with = gain(parallel(3300.0, s_at(20) * 4.0), 20);
    CHECK_THAT(found.loss_db, WithinAbs(db(gain(3300, 20) / with), 1e-9));
    const Z at_corner = gain(parallel(3300.0, s_at(found.corner_hz) * 4.0), found.corner_hz);
    CHECK_THAT(std::norm(gain(3300, found.corner_hz) / at_corner), WithinAbs(2, 1e-7));
    CHECK(names_of(bench.setting.bass_loss(bench.setting.low_corner_hz())) == Names{"L2"});
}

/// A transformer as the leakage (1 - k) L1, the magnetising inductance k L1 and a perfect
/// transformer of ratio n.
struct Windings {
    double n, l1, k, r1, r2;

    Z gain(double source_ohm, double load_ohm, Z magnetising_ohm, Z s) const {
        const Z leakage_ohm = s * (1 - k) * l1;
        const Z secondary_ohm = (r2 + load_ohm) / (n * n) + leakage_ohm;
        const Z middle_ohm = parallel(magnetising_ohm, secondary_ohm);
        return middle_ohm / (source_ohm + r1 + leakage_ohm + middle_ohm) / secondary_ohm *
               load_ohm / n;
    }
};

TEST_CASE("a transformer: the loss by its magnetising inductance k L1", "[bass]") {
    Bench bench({.parts = R"(
T1 = { transformer = { ratio = 10, primary_inductance = "3", coupling = 0.99, primary_resistance = "40R", secondary_resistance = "900R" }, primary = ["in", "gnd"], secondary = ["out", "gnd"] }
R1 = { resistor = "68k", pins = ["out", "gnd"] }
)",
                 .capsule = source_200});
    const Windings t{10, 3, 0.99, 40, 900};
    const auto gain = [&](double f_hz) {
        return t.gain(200, 68e3, s_at(f_hz) * t.k * t.l1, s_at(f_hz));
    };
    const auto perfect = [&](double f_hz) { return t.gain(200, 68e3, 1e15, s_at(f_hz)); };
    // The reference has 1e15 ohm for an infinite impedance of some 1e2 to 1e3 ohm.
    CHECK_THAT(bench.setting.at(20).gain.real(), WithinRel(gain(20).real(), 1e-9));
    const Rolloff& found = bench.of("T1");
    CHECK(found.cause == BassCause::transformer);
    CHECK(found.in_the_way);
    CHECK_THAT(found.loss_db, WithinAbs(db(perfect(20) / gain(20)), 1e-9));
    CHECK_THAT(std::norm(perfect(found.corner_hz) / gain(found.corner_hz)), WithinAbs(2, 1e-7));
}

/// A transformer of 5 Hz, C3 of 3.4 Hz and C4 of 1 Hz, apart by buffers.
test::Stage ribbon(const std::string& c3) {
    return {.parts = R"(
T1 = { transformer = { ratio = 10, primary_inductance = "6.28", coupling = 0.9999 }, primary = ["in", "gnd"], secondary = ["sec", "gnd"] }
RT = { resistor = "1M", pins = ["sec", "gnd"] }
E1 = { voltage_gain = 1, control = ["sec", "gnd"], pins = ["a", "gnd"] }
C3 = { capacitor = ")" +
                     c3 + R"(", pins = ["a", "b"] }
R3 = { resistor = "1M", pins = ["b", "gnd"] }
E2 = { voltage_gain = 1, control = ["b", "gnd"], pins = ["c", "gnd"] }
C4 = { capacitor = "16u", pins = ["c", "out"] }
R4 = { resistor = "10k", pins = ["out", "gnd"] }
)",
            .capsule = source_200};
}

double high_pass_db(double corner_hz) {
    return 10 * std::log10(1 + std::pow(corner_hz / 20, 2));
}

TEST_CASE("a ribbon's transformer is named before the capacitor that loses less", "[bass]") {
    for (const std::string c3 : {"47n", "0.1 F"}) {
        CAPTURE(c3);
        Bench bench(ribbon(c3));
        const double transformer_db =
            high_pass_db(parallel(200.0, 1e4).real() / (2 * test::pi * 6.28));
        const double c3_db = c3 == "47n" ? high_pass_db(1 / (2 * test::pi * 1e6 * 47e-9)) : 0;
        const double c4_db = high_pass_db(1 / (2 * test::pi * 1e4 * 16e-6));
        // 0.01 % of leakage, and what is lost at 1 kHz, are left out here.
        CHECK_THAT(bench.of("T1").loss_db, WithinAbs(transformer_db, 1e-3));
        CHECK_THAT(bench.of("C3").loss_db, WithinAbs(c3_db, 1e-6));
        CHECK_THAT(bench.of("C4").loss_db, WithinAbs(c4_db, 1e-6));
        const PartBassLoss loss = bench.setting.bass_loss(20);
        CHECK_THAT(loss.total_db, WithinAbs(transformer_db + c3_db + c4_db, 1e-3));
        CHECK(names_of(loss) == Names{"T1"});
        CHECK_FALSE(loss.interact());
        CHECK(names_of(bench.setting.bass_loss(bench.setting.low_corner_hz())).front() == "T1");
    }
}

TEST_CASE("60 pF into 4.6 kohm: the capsule takes the bass, not the capacitor behind", "[bass]") {
    Bench bench({.parts = R"(
R1 = { resistor = "4k6", pins = ["in", "gnd"] }
E1 = { voltage_gain = 100, control = ["in", "gnd"], pins = ["a", "gnd"] }
C5 = { capacitor = "1u", pins = ["a", "out"] }
R5 = { resistor = "10k", pins = ["out", "gnd"] }
)",
                 .capsule = condenser});
    const auto through = [](double f_hz) {
        return 4600.0 / (4600.0 + 1.0 / (s_at(f_hz) * 60e-12));
    };
    const Rolloff& found = bench.of("capsule");
    CHECK(found.cause == BassCause::capsule);
    CHECK(found.in_the_way);
    CHECK_THAT(found.loss_db, WithinAbs(db(through(1000) / through(20)), 1e-9));
    CHECK_THAT(found.loss_db, WithinAbs(33.98, 0.01));  // 50 times the frequency
    // 1 kHz / sqrt(2) but for the resistance, a six-hundredth of the reactance.
    CHECK_THAT(found.corner_hz, WithinRel(1000 / std::sqrt(2), 1e-5));
    for (const double f_hz : {20.0, bench.setting.low_corner_hz()}) {
        CHECK(names_of(bench.setting.bass_loss(f_hz)) == Names{"capsule"});
    }
}

TEST_CASE("a capsule with a flat loss takes no bass", "[bass]") {
    Bench capacitive({.parts = R"(
C1 = { capacitor = "30p", pins = ["in", "gnd"] }
R1 = { resistor = 1e12, pins = ["in", "out"] }
R2 = { resistor = 1e12, pins = ["out", "gnd"] }
)",
                      .capsule = condenser});
    CHECK_FALSE(capacitive.of("capsule").in_the_way);
    CHECK_THAT(capacitive.of("capsule").loss_db, WithinAbs(0, 1e-3));
    // A plain resistance is no cause at all.
    Bench resistive({.parts = "R1 = { resistor = \"100R\", pins = [\"in\", \"out\"] }\n"
                              "R2 = { resistor = \"100R\", pins = [\"out\", \"gnd\"] }\n",
                     .capsule = source_200});
    CHECK(resistive.setting.rolloff().empty());
}

TEST_CASE("a resonance of the capsule takes bass with the load that damps it", "[bass]") {
    Bench bench({.parts = "R1 = { resistor = \"600R\", pins = [\"in\", \"out\"] }\n"
                          "R2 = { resistor = \"600R\", pins = [\"out\", \"gnd\"] }\n",
                 .capsule = "kind = \"dynamic\"\ncoil_resistance = \"200R\"\nresonances = [{ "
                            "frequency = \"25 Hz\", q = 1, resistance = \"400R\" }]\n"});
    const auto ohm = [](double f_hz) { return 200.0 + 400.0 / Z(1, f_hz / 25 - 25 / f_hz); };
    const auto gain = [](Z source_ohm) { return 600.0 / (1200.0 + source_ohm); };
    const Z plain_ohm = ohm(1000).real();
    const double loss_db =
        db(gain(plain_ohm) / gain(ohm(20))) - db(gain(plain_ohm) / gain(ohm(1000)));
    CHECK(loss_db > 1.5);
    CHECK(bench.of("capsule").in_the_way);
    CHECK_THAT(bench.of("capsule").loss_db, WithinAbs(loss_db, 1e-9));
}

TEST_CASE("parts that take the bass together are named together", "[bass]") {
    // A Butterworth high pass of second order between two equal resistances: |H|^2 is that of no
    // parts over 1 + (f0/f)^4. Either part alone made perfect leaves a high pass of first order at
    // f0 / sqrt(2), which loses 10 lg(1 + f0^2 / 2 f^2).
    constexpr double f0_hz = 10;
    const double farad = 1 / (2 * test::pi * f0_hz * 1e3 * std::sqrt(2));
    const double henry = 1e3 / (2 * test::pi * f0_hz * std::sqrt(2));
    Bench bench({.parts = fmt::format(R"(
R1 = {{ resistor = "1k", pins = ["in", "a"] }}
C1 = {{ capacitor = "{} F", pins = ["a", "out"] }}
L1 = {{ inductor = {}, pins = ["out", "gnd"] }}
R2 = {{ resistor = "1k", pins = ["out", "gnd"] }}
)",
                                      farad, henry)});
    const auto butterworth_db = [](double f_hz) {
        return 10 * std::log10(1 + std::pow(f0_hz / f_hz, 4));
    };
    const auto alone_db = [&](double f_hz) {
        return butterworth_db(f_hz) - 10 * std::log10(1 + std::pow(f0_hz / f_hz, 2) / 2);
    };
    CHECK_THAT(bench.of("C1").loss_db, WithinAbs(alone_db(20), 1e-9));
    CHECK_THAT(bench.of("L1").loss_db, WithinAbs(alone_db(20), 1e-9));
    const PartBassLoss at_20 = bench.setting.bass_loss(20);
    CHECK(names_of(at_20) == Names{"C1", "L1"});
    CHECK(at_20.interact());
    // 1 kHz loses 1e-8 of it.
    CHECK_THAT(at_20.total_db, WithinAbs(butterworth_db(20), 1e-7));
    CHECK_THAT(at_20.together_db, WithinAbs(butterworth_db(20), 1e-9));
    CHECK(at_20.most_alone_db == 0);  // alone each makes it worse
    const PartBassLoss at_corner = bench.setting.bass_loss(bench.setting.low_corner_hz());
    CHECK(names_of(at_corner) == Names{"C1", "L1"});
    CHECK(at_corner.interact());
    CHECK_THAT(at_corner.most_alone_db, WithinAbs(10 * std::log10(2 / 1.5), 1e-6));
}

TEST_CASE("four equal capacitors in series: none alone explains half", "[bass]") {
    Bench bench({.parts = R"(
C1 = { capacitor = "40u", pins = ["in", "a"] }
C2 = { capacitor = "40u", pins = ["a", "b"] }
C3 = { capacitor = "40u", pins = ["b", "c"] }
C4 = { capacitor = "40u", pins = ["c", "out"] }
R1 = { resistor = "1k", pins = ["out", "gnd"] }
)"});
    const PartBassLoss loss = bench.setting.bass_loss(20);
    CHECK(names_of(loss) == Names{"C1", "C2", "C3", "C4"});
    CHECK(loss.interact());
    const double four = 1 / (2 * test::pi * 1e3 * 10e-6);
    CHECK_THAT(loss.together_db, WithinAbs(high_pass_db(four), 1e-9));
    CHECK_THAT(loss.most_alone_db, WithinAbs(high_pass_db(four) - high_pass_db(0.75 * four), 1e-9));
}

TEST_CASE("without a loss there is no cause", "[bass]") {
    Bench bench({.parts = R"(
R1 = { resistor = "100k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)"});
    const PartBassLoss loss = bench.setting.bass_loss(20);
    CHECK(loss.causes.empty());
    CHECK_THAT(loss.total_db, WithinAbs(0, 1e-9));
}

}  // namespace lowhiss::bass_causes_test
