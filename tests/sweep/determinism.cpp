// The same board and request give the same figures, bit for bit, however the cores share the work.

#include <bit>
#include <cmath>

#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::determinism_test {

const test::Stage preamp{.parts = R"(
C1 = { capacitor = "4u7", pins = ["in", "p"] }
R1 = { resistor = "10k", pins = ["p", "gnd"] }
U1 = { opamp = "part", plus = "p", minus = "fb", out = "out" }
RV1 = { potentiometer = "10k", pins = ["fb", "out", "out"], taper = "reverse-log", end_resistance = "5R" }
R3 = { resistor = "47R", pins = ["fb", "leg"] }
C3 = { capacitor = "470u", pins = ["leg", "gnd"] }
)",
                         .capsule = R"(kind = "dynamic"
coil_resistance = "180R"
coil_inductance = "500u"
resonances = [{ frequency = "150 Hz", q = 9, resistance = "110R" }]
)",
                         .tables = R"(
[knob]
part = "RV1"
positions = [0, 0.2, 0.4, 0.6, 0.8, 1]

[variants.soft]
set = { C1 = "1u" }

[opamp.part]
open_loop_gain = 1e5
gain_bandwidth = "10 MHz"
voltage_noise = "4.5 nV/rtHz"
voltage_noise_corner = "60 Hz"
current_noise = "0.7 pA/rtHz"
)"};

void add(std::vector<std::uint64_t>& bits, const std::vector<double>& figures) {
    for (const double figure : figures) bits.push_back(std::bit_cast<std::uint64_t>(figure));
}

/// Every double of a knob's result.
std::vector<std::uint64_t> bits_of(const KnobResult& r) {
    std::vector<std::uint64_t> bits;
    const Measures& m = r.measures;
    add(bits, {r.position, r.resistance_ohm, r.account.worst_backward_error});
    for (const auto* list :
         {&r.gain_db, &r.phase_deg, &r.group_delay_s, &r.capsule_effect_db,
          &r.gain_from_terminals_db, &r.input_impedance_ohm, &r.input_impedance_deg,
          &r.output_noise_v_rthz, &r.input_noise_v_rthz}) {
        add(bits, *list);
    }
    add(bits,
        {m.gain_1khz_db, m.gain_20hz_db, m.gain_20khz_db, m.gain_from_terminals_1khz_db,
         m.low_corner_hz, m.high_corner_hz, m.input_impedance_1khz_ohm, m.output_noise_v, m.ein_v,
         m.ein_dbu, m.ein_a_dbu, m.ein_468_dbu, m.noise_figure_db, m.capsule_effect_20hz_db,
         m.capsule_effect_1khz_db, m.capsule_effect_20khz_db, m.capsule_noise_rise_db});
    for (const NoiseShare& share : r.noise_by_part) {
        add(bits, {share.output_v, share.share});
        add(bits, share.output_v_rthz);
    }
    for (const PartRolloff& part : r.rolloff) {
        add(bits, {part.rolloff.loss_db, part.rolloff.corner_hz});
    }
    return bits;
}

SweepRequest request() {
    SweepRequest r;
    for (int k = 0; k <= 30; ++k) r.frequency_hz.push_back(std::pow(10.0, k / 6.0));
    r.variants = {"", "soft"};
    return r;
}

TEST_CASE("two sweeps are equal bit for bit") {
    const Board board = test::board_of(preamp);
    const Sweep first = sweep(board, request());
    const Sweep second = sweep(board, request());
    REQUIRE(first.runs.size() == 2);
    for (std::size_t run = 0; run < first.runs.size(); ++run) {
        REQUIRE(first.runs[run].knob.size() == 6);
        for (std::size_t k = 0; k < 6; ++k) {
            CHECK(bits_of(first.runs[run].knob[k]) == bits_of(second.runs[run].knob[k]));
        }
    }
    CHECK(bits_of(first.runs[0].knob[1]) != bits_of(first.runs[1].knob[1]));
}

TEST_CASE("a knob position gives the same in a sweep as when it is solved alone") {
    const Board board = test::board_of(preamp);
    const Sweep all = sweep(board, request());
    for (std::size_t k = 0; k < 6; ++k) {
        const double rotation = board.knob->positions[k];
        CHECK(bits_of(all.runs[0].knob[k]) == bits_of(test::solve(board, rotation, request())));
    }
}

TEST_CASE("asking for knob positions replaces the board's own") {
    SweepRequest asked = request();
    asked.knob = {0.4, 0.15};
    const Sweep result = sweep(test::board_of(preamp), asked);
    REQUIRE(result.runs[0].knob.size() == 2);
    CHECK(result.runs[0].knob[0].position == 0.4);
    CHECK(result.runs[0].knob[1].position == 0.15);
}

}  // namespace lowhiss::determinism_test
