// Transistors of one chip: their spread is drawn once, and each is off it by no more than `within`.

#include <cmath>

#include "lowhiss/series/random_board.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::matched_transistors_test {

const std::string pair = R"(
[jfet.j]
polarity = "n"
saturation_current = "5 mA"
pinch_off_voltage = "1 V"
spread = { saturation_current = ["3 mA", "8 mA"], pinch_off_voltage = ["0.6 V", "1.5 V"], correlation = 0.9 }
[parts]
V1 = { voltage_source = "15 V", pins = ["vdd", "gnd"] }
R1 = { resistor = "1k", pins = ["vdd", "out"] }
R2 = { resistor = "1k", pins = ["s", "gnd"] }
J1 = { jfet = "j", drain = "out", gate = "in", source = "s" }
J2 = { jfet = "j", drain = "vdd", gate = "gnd", source = "s" }
[input]
plus = "in"
[output]
plus = "out"
)";

double saturation_a(const Board& board, const char* part) {
    const auto& jfet = std::get<Jfet>(find_part(board, part)->data);
    return board.models.jfets.find(jfet.model)->second.saturation_a;
}

TEST_CASE("matched transistors stray together", "[series]") {
    const auto ratios = [](const std::string& text) {
        const Board board = test::board_from_text(text);
        std::vector<double> found;
        for (std::uint64_t k = 0; k < 50; ++k) {
            const Board made = random_board(board, {}, k);
            CHECK(saturation_a(made, "J1") != Approx(5e-3).epsilon(1e-9));
            found.push_back(std::abs(saturation_a(made, "J1") / saturation_a(made, "J2") - 1));
        }
        return *std::max_element(found.begin(), found.end());
    };
    CHECK(ratios(pair) > 0.3);
    const std::string group = "[matched.chip]\nparts = [\"J1\", \"J2\"]\nwithin = ";
    CHECK(ratios(pair + group + "0\n") < 1e-12);
    const double off = ratios(pair + group + "\"2 %\"\n");
    CHECK(off > 0.01);
    CHECK(off < 0.0409);  // 1.02 / 0.98
}

}  // namespace lowhiss::matched_transistors_test
