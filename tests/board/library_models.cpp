// The models that come with the program, and their noise with a source of 200 ohm by hand: 4kT is
// 1.618949e-20 J and kT/q 25.2617 mV at 20 degC, by the constants of the SI (9th edition, table 1).

#include "lowhiss/board/library_models.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "lowhiss/circuit/model_noise.hpp"
#include "support/catch.hpp"

namespace lowhiss::library_test {

const LibraryModel& model_named(const std::vector<LibraryModel>& models, std::string_view name) {
    const auto found = std::find_if(models.begin(), models.end(),
                                    [&](const LibraryModel& model) { return model.name == name; });
    REQUIRE(found != models.end());
    return *found;
}

double figure_of(const LibraryModel& model, std::string_view key) {
    const ModelFigure* figure = find_figure(model, key);
    REQUIRE(figure != nullptr);
    return figure->value;
}

bool close(double found, double by_hand) {
    return std::abs(found / by_hand - 1) <= 1e-4;  // of figures that are written to five digits
}

TEST_CASE("the models of the library have their figures, sources and names", "[library]") {
    const std::vector<LibraryModel> models = library_models();
    std::set<std::string> tables;
    for (const LibraryModel& model : models) {
        INFO(model.name);
        tables.insert(model.table);
        CHECK_FALSE(model.source.empty());
        CHECK_FALSE(model.figures.empty());
        CHECK(model.library.starts_with("library:"));
    }
    CHECK(tables ==
          std::set<std::string>{"battery", "bipolar", "capsule", "jfet", "opamp", "preamp_ic"});

    const LibraryModel& opamp = model_named(models, "ne5532");
    CHECK(opamp.library == "library:opamps");
    CHECK(figure_of(opamp, "voltage_noise") == 4.88e-9);
    CHECK(figure_of(opamp, "supply_current") == 4e-3);
    CHECK(find_figure(opamp, "base_resistance") == nullptr);
    CHECK(std::isnan(figure_of(model_named(models, "lm833"), "voltage_noise_corner")));
    const LibraryModel& transistor = model_named(models, "2n3904");
    CHECK(transistor.word == "npn");
    CHECK(figure_of(transistor, "current") == 1e-3);  // left out: 1 mA by the board language
    CHECK(std::isnan(figure_of(transistor, "emitter_resistance")));
    CHECK(model_named(models, "2n5460").word == "p-channel");
    CHECK(model_named(models, "measured-200").word == "measured");
}

TEST_CASE("the noise of an amplifier with a source is the sum of three", "[library]") {
    OpAmpModel opamp;
    opamp.voltage_noise_v_rthz = 3.42e-9;
    opamp.voltage_noise_corner_hz = 47.6;
    opamp.common.current_noise_a_rthz = 0.309e-12;
    opamp.common.current_noise_corner_hz = 678;
    ModelUse use;
    use.source_ohm = 200;
    // 12.2531e-18 + 0.160217e-24 * 200^2 + 3.237898e-18
    CHECK(close(noise_with_source(opamp, use), 3.93667e-9));
    opamp.missing = {"current_noise"};
    CHECK(std::isnan(noise_with_source(opamp, use)));

    PreampIcModel preamp;
    preamp.gain_offset = 1;
    preamp.input_voltage_noise_v_rthz = 1.3e-9;
    preamp.output_voltage_noise_v_rthz = 90e-9;
    preamp.common.current_noise_a_rthz = 0.8e-12;
    CHECK(std::isnan(noise_with_source(preamp, use)));
    use.gain = 1000;
    // 1.69e-18 + 0.0081e-18 + 0.0256e-18 + 3.237898e-18
    CHECK(close(noise_with_source(preamp, use), 2.22746e-9));
    use.gain = 0.5;  // below what the part has without a gain resistor
    CHECK(std::isnan(noise_with_source(preamp, use)));
    CHECK(close(thermal_noise_v_rthz(200, 293.15), 1.79942e-9));
}

TEST_CASE("the noise of a transistor with a source follows from its current", "[library]") {
    BipolarModel bipolar;
    bipolar.current_gain = 200;
    bipolar.base_ohm = 17;
    bipolar.current_noise_corner_hz = 500;
    ModelUse use;
    use.source_ohm = 200;
    CHECK(std::isnan(noise_with_source(bipolar, use)));
    use.current_a = 1e-3;
    // S = 217: 3.513119e-18 + 3.204353e-22 (25.2617 + 1.085)^2 + 3.204353e-22 / 200 * 1.5 * 217^2
    CHECK(close(noise_with_source(bipolar, use), 1.96181e-9));

    JfetModel jfet;
    jfet.saturation_a = 9e-3;
    jfet.pinch_off_v = 0.62;
    jfet.voltage_noise_corner_hz = 30;
    use.source_ohm = 0;
    // g = 2 sqrt(9 mA * 1 mA) / 0.62 V = 9.67742 mS; 1.618949e-20 * 2 / 3 / g * 1.03
    CHECK(close(noise_with_source(jfet, use), 1.07179e-9));
    jfet.voltage_noise_v_rthz = 0.9e-9;
    use.source_ohm = 200;  // 0.8343e-18 + 3.237898e-18
    CHECK(close(noise_with_source(jfet, use), 2.01797e-9));
}

// Motchenbacher and Connelly, Low-Noise Electronic System Design (Wiley, 1993), chapter on bipolar
// transistors (from memory): en^2 = 4kT (rbb + re / 2) with re = kT / q Ic, in^2 = 2q Ib (1 + fL /
// f), which also flows through rbb, and a best source of en / in. The book leaves out that the
// collector's shot noise sees the source over the current gain B: 4kT S / B + 2q Ic S^2 / B^2,
// which is 1 / B of the rest at most.
double by_the_book_v2_hz(const BipolarModel& model, double source_ohm, double current_a) {
    const double four_kt = 1.618949e-20;
    const double two_q = 3.204353e-19;
    const double emitter_ohm = four_kt / (2 * two_q * current_a);
    const double base_ohm = model.base_ohm + model.emitter_ohm;
    const double voltage2 = four_kt * (base_ohm + emitter_ohm / 2);
    const double current2 =
        two_q * current_a / model.current_gain * (1 + model.current_noise_corner_hz / 1000);
    return four_kt * source_ohm + voltage2 +
           current2 * (source_ohm + base_ohm) * (source_ohm + base_ohm);
}

double bipolar_noise(const BipolarModel& model, double source_ohm, double current_a) {
    ModelUse use;
    use.source_ohm = source_ohm;
    use.current_a = current_a;
    return noise_with_source(model, use);
}

TEST_CASE("the noise of every bipolar transistor is that of the handbook", "[library]") {
    int compared = 0;
    for (const LibraryModel& listed : library_models()) {
        const auto* model = std::get_if<BipolarModel>(&listed.model);
        if (!model) continue;
        for (const double source_ohm : {0.0, 10.0, 200.0, 5e3, 1e5}) {
            for (const double current_a : {10e-6, 100e-6, 1e-3, 10e-3}) {
                INFO(listed.name << " " << source_ohm << " ohm " << current_a << " A");
                const double ours_v = bipolar_noise(*model, source_ohm, current_a);
                const double ratio =
                    ours_v * ours_v / by_the_book_v2_hz(*model, source_ohm, current_a);
                CHECK(ratio >= 1 - 1e-6);  // of the constants' seven digits
                CHECK(ratio <= 1 + 1e-6 + 1 / model->current_gain);
                ++compared;
            }
        }
    }
    CHECK(compared >= 100);
}

// The same chapter: with rbb small the best source is sqrt(B) re with a noise factor of
// 1 + 1 / sqrt(B), and the best current for a source R is sqrt(B) kT / q R; all within 1 / B.
TEST_CASE("a bipolar transistor has its best source and its best current", "[library]") {
    BipolarModel model;
    model.current_gain = 400;
    const double current_a = 1e-3;
    const double best_ohm = std::sqrt(400) * 25.2617e-3 / current_a;
    const auto factor = [&](double source_ohm) {
        const double noise_v = bipolar_noise(model, source_ohm, current_a);
        return noise_v * noise_v / (1.618949e-20 * source_ohm);
    };
    CHECK(factor(best_ohm) == Approx(1 + 1 / std::sqrt(400)).margin(1.1 / 400));
    const auto best_current_a = [](double source_ohm) {
        return std::sqrt(400) * 25.2617e-3 / source_ohm;
    };
    for (const double other : {0.97, 1.03}) {
        CHECK(factor(other * best_ohm) > factor(best_ohm));
        for (const double source_ohm : {50.0, 1e3, 20e3}) {
            const double best_a = best_current_a(source_ohm);
            CHECK(bipolar_noise(model, source_ohm, other * best_a) >
                  bipolar_noise(model, source_ohm, best_a));
        }
    }
}

}  // namespace lowhiss::library_test
