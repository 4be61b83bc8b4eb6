// The demo boards against values that reference.py computed by another method in 40 digits.

#include <nlohmann/json.hpp>

#include <filesystem>
#include <fstream>
#include <numbers>
#include <numeric>

#include "lowhiss/measure/corner.hpp"
#include "lowhiss/sweep/sweep.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::values_test {

namespace fs = std::filesystem;
using Json = nlohmann::json;

// The documented accuracy of the demo boards from 1 Hz to 10 MHz.
constexpr double curve_tolerance = 1e-9;
constexpr double corner_tolerance = 1e-6;
// The documented accuracy of integrals is 0.001 dB; both sides integrate to about 1e-7.
constexpr double integral_tolerance_db = 1e-5;

Complex complex_from(const Json& pair) {
    return {pair.at(0), pair.at(1)};
}

double relative(Complex a, Complex b) {
    return std::abs(a - b) / std::abs(b);
}

double figure(const Json& value) {
    return value.is_null() ? unset : value.get<double>();
}

void check_figure(double ours, const Json& theirs, double tolerance) {
    if (theirs.is_null())
        CHECK(std::isnan(ours));
    else
        CHECK_THAT(ours, WithinAbs(figure(theirs), tolerance));
}

void check_corner(double ours, const Json& theirs) {
    if (theirs.is_null())
        CHECK(std::isnan(ours));
    else
        CHECK_THAT(ours, WithinRel(figure(theirs), corner_tolerance));
}

void check_curves(const Board& board, const Json& values, const Json& knob) {
    Network network = test::network_of(board, knob.at("position"));
    double worst_gain = 0;
    double worst_noise = 0;
    double worst_impedance = 0;
    for (std::size_t k = 0; k < values.at("frequency_hz").size(); ++k) {
        const Response r = network.respond(values["frequency_hz"][k]);
        const std::vector<double> noise = r.noise_v2_hz;
        const double density = std::sqrt(std::accumulate(noise.begin(), noise.end(), 0.0));
        worst_gain = std::max(worst_gain, relative(r.gain, complex_from(knob["gain"][k])));
        worst_impedance =
            std::max(worst_impedance,
                     relative(r.input_impedance_ohm, complex_from(knob["input_impedance_ohm"][k])));
        worst_noise =
            std::max(worst_noise, relative(density, knob["output_noise_v_rthz"][k].get<double>()));
    }
    CHECK(worst_gain < curve_tolerance);
    CHECK(worst_noise < curve_tolerance);
    CHECK(worst_impedance < curve_tolerance);
}

double power_of_part(const KnobResult& ours, const std::string& part) {
    double power = 0;
    for (const NoiseShare& share : ours.noise_by_part) {
        if (share.part == part) power += share.output_v * share.output_v;
    }
    return power;
}

void check_parts(const KnobResult& ours, const Json& knob) {
    std::map<std::string, double> theirs;
    for (const Json& source : knob.at("noise")) {
        theirs[source.at("part")] += std::pow(source.at("output_v").get<double>(), 2);
    }
    const double total = std::pow(ours.measures.output_noise_v, 2);
    for (const auto& [part, power] : theirs) {
        CAPTURE(part);
        CHECK_THAT(power_of_part(ours, part), WithinAbs(power, 1e-7 * total));
    }
}

void check_measures(const KnobResult& ours, const Json& knob) {
    const Json& theirs = knob.at("measures");
    const Measures& m = ours.measures;
    check_figure(m.gain_1khz_db, theirs.at("gain_1khz_db"), 1e-8);
    check_corner(m.low_corner_hz, theirs.at("low_corner_hz"));
    check_corner(m.high_corner_hz, theirs.at("high_corner_hz"));
    check_figure(m.ein_dbu, theirs.at("ein_dbu"), integral_tolerance_db);
    check_figure(m.ein_a_dbu, theirs.at("ein_a_dbu"), integral_tolerance_db);
    check_figure(m.ein_468_dbu, theirs.at("ein_468_dbu"), integral_tolerance_db);
    check_figure(m.noise_figure_db, theirs.at("noise_figure_db"), integral_tolerance_db);
    check_figure(m.capsule_noise_rise_db, theirs.at("capsule_noise_rise_db"),
                 integral_tolerance_db);
    for (std::size_t k = 0; k < ours.capsule_effect_db.size(); ++k) {
        check_figure(ours.capsule_effect_db[k], knob.at("capsule_effect_db")[k], 1e-8);
        const double delay = knob.at("group_delay_s")[k];
        // A delay near zero is no scale for its error; phase over omega is.
        const double scale =
            std::max(std::abs(delay), std::abs(ours.phase_deg[k]) / 360 /
                                          knob.at("frequency_hz_of")[k].get<double>());
        CHECK_THAT(ours.group_delay_s[k], WithinAbs(delay, 1e-7 * scale));
    }
}

void check_file(const fs::path& file) {
    Json values = Json::parse(std::ifstream(file));
    const std::string stem = file.stem().string();
    const std::string name = stem.substr(0, stem.find('@'));
    const fs::path path = fs::path(LOWHISS_SOURCE_DIR) / "netlists" / "boards" / (name + ".toml");
    BoardReading reading = read_board(path.string(), disk_reader());
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    const std::string variant =
        values.at("variant").is_null() ? "" : values["variant"].get<std::string>();
    const Board assembled = with_variant(*reading.board, find_variant(*reading.board, variant));
    SweepRequest request;
    request.rolloff = false;
    request.frequency_hz = values.at("frequency_hz").get<std::vector<double>>();
    for (Json& knob : values.at("knob")) {
        CAPTURE(knob.at("position").dump());
        check_curves(assembled, values, knob);
        knob["frequency_hz_of"] = values["frequency_hz"];
        const KnobResult ours =
            solve_position(assembled, test::capsule_of(assembled), knob["position"], {}, request);
        check_measures(ours, knob);
        check_parts(ours, knob);
    }
}

TEST_CASE("demo boards agree with an independent computation", "[independent]") {
    std::size_t files = 0;
    for (const auto& entry :
         fs::directory_iterator(fs::path(LOWHISS_TESTS_DIR) / "independent" / "values")) {
        if (entry.path().extension() != ".json") continue;
        ++files;
        DYNAMIC_SECTION(entry.path().stem().string()) {
            check_file(entry.path());
        }
    }
    CHECK(files >= 5);
}

}  // namespace lowhiss::values_test
