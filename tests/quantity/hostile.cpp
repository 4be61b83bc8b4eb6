// Absurd texts: the parser returns a finite number or a complete diagnostic for each.

#include <cmath>
#include <random>
#include <string>
#include <variant>

#include "lowhiss/quantity/parse.hpp"
#include "support/catch.hpp"

namespace lowhiss::hostile_test {

void check_answer(const std::string& text, Unit unit) {
    const auto result = parse_quantity(text, unit);
    if (const auto* value = std::get_if<double>(&result)) {
        if (!std::isfinite(*value)) FAIL("'" << text << "' is read as " << *value);
        return;
    }
    const auto& problem = std::get<QuantityProblem>(result);
    if (problem.found.empty() || problem.accepted.empty()) FAIL("nothing is said of " << text);
}

TEST_CASE("Random bytes", "[quantity]") {
    std::mt19937_64 random(60062);
    for (int i = 0; i < 100'000; ++i) {
        std::string text(random() % 24, ' ');
        for (char& c : text) c = static_cast<char>(random() % 256);
        check_answer(text, units()[random() % units().size()].unit);
    }
}

TEST_CASE("Random texts of the right alphabet", "[quantity]") {
    const std::string alphabet[] = {"0",     "1",   "5", "9", "99", ".",   ",",   "e", "E",
                                    "+",     "-",   " ", "k", "K",  "M",   "m",   "u", "µ",
                                    "n",     "p",   "R", "F", "dB", "deg", "°C",  "Ω", "V",
                                    "/rtHz", "√Hz", "%", "G", "f",  "s",   "ppm", "J", "\xc2"};
    std::mt19937_64 random(60063);
    for (int i = 0; i < 100'000; ++i) {
        std::string text;
        for (auto pieces = random() % 9; pieces > 0; --pieces) {
            text += alphabet[random() % std::size(alphabet)];
        }
        check_answer(text, units()[random() % units().size()].unit);
    }
}

TEST_CASE("Long texts take no long time", "[quantity]") {
    for (const UnitInfo& unit : units()) {
        for (const std::string piece : {"9", "0", "k", "K", ",", ".", " ", "-", "e9", "Ω", "1,"}) {
            std::string text = "4";
            while (text.size() + piece.size() <= 1000) text += piece;
            check_answer(text, unit.unit);
            check_answer(text + text, unit.unit);
            check_answer("1e" + text.substr(2), unit.unit);
            check_answer("-0." + text.substr(3) + " degC", unit.unit);
        }
    }
}

}  // namespace lowhiss::hostile_test
