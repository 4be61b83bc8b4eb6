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

}  // namespace lowhiss::library_test
