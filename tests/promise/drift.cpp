// Baselines: what is recorded, what counts as moved, and what is reported of an unusable file.

#include "lowhiss/promise/drift.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "lowhiss/promise/check.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::drift_test {

const std::string divider = R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)";

std::vector<Figure> figures_of(const Board& board) {
    const CheckRequest request{&board, {}, true};
    return check_boards({&request, 1}).front().figures;
}

std::string recorded(const Board& board) {
    return baseline_text(board, figures_of(board), "1.2.3");
}

Baseline read_back(const std::string& text) {
    Diagnostics out;
    const auto baseline = read_baseline("b", test::memory_reader({{"b", text}}), out);
    INFO(test::all_text(out));
    REQUIRE(baseline);
    return *baseline;
}

std::string refusal_of(const std::string& text) {
    Diagnostics out;
    CHECK(!read_baseline("b", test::memory_reader({{"b", text}}), out));
    return test::all_text(out);
}

/// "gain moved -0.09": every figure that is not still.
std::string drift_of(const Baseline& baseline, const Board& board) {
    static constexpr const char* kinds[] = {"still", "moved", "missing", "obsolete", "error"};
    Diagnostics out;
    std::string text;
    for (const FigureDrift& d : drift_from(baseline, figures_of(board), board, out)) {
        if (d.kind == FigureDrift::Kind::still) continue;
        text += fmt::format("{} {} {:.4f}\n", d.key, kinds[static_cast<int>(d.kind)], d.moved_by);
    }
    return text + test::all_text(out);
}

Board with(const std::string& from, const std::string& to) {
    std::string text = divider;
    return test::board_from_text(text.replace(text.find(from), from.size(), to));
}

TEST_CASE("a baseline is the same bytes for the same board, and nothing has moved from it") {
    const Board board = test::board_from_text(divider);
    const std::string text = recorded(board);
    CHECK(text == recorded(board));
    CHECK(text.find("\"plain, no capsule, gain\" = \"-6.020 dB\"\n") != std::string::npos);
    CHECK(text.find("\"plain, no capsule, high_corner\" = \"none\"\n") != std::string::npos);
    CHECK(text.find("R1 = [ \"resistor 1 kΩ\", \"in\", \"out\" ]\n") != std::string::npos);
    const Baseline baseline = read_back(text);
    CHECK(baseline.recorded_by == "1.2.3");
    CHECK(drift_of(baseline, board).empty());
    CHECK(board_changes(baseline.lines, board_lines(board)).empty());
}

TEST_CASE("a figure moves when it leaves its allowance, and by how much is told") {
    const Baseline baseline = read_back(recorded(test::board_from_text(divider)));
    // R2 of 1.01 kohm raises the gain by 20 log10(2 * 1010 / 2010) = 0.0431 dB: under 0.05 dB.
    // The output impedance is 1000 || 1010 = 502.488 ohm, 0.4975 % up: under 1 %.
    CHECK(drift_of(baseline, with(R"("1k", pins = ["out")", R"("1k01", pins = ["out")")).empty());
    // 1.03 kohm: 20 log10(1030 / 2030) = -5.8932 dB at three frequencies, from -6.0206 recorded as
    // -6.020; 1.4778 % of output impedance, 1.5 % of input impedance, sqrt of that of output noise
    // (0.7362 %).
    CHECK(drift_of(baseline, with(R"("1k", pins = ["out")", R"("1k03", pins = ["out")")) ==
          "plain, no capsule, gain moved 0.1268\n"
          "plain, no capsule, gain_20hz moved 0.1268\n"
          "plain, no capsule, gain_20khz moved 0.1268\n"
          "plain, no capsule, input_impedance moved 0.0150\n"
          "plain, no capsule, output_impedance moved 0.0148\n");
}

TEST_CASE("what does not matter changes no line of a baseline") {
    // A hundred-thousandth more in R2 moves the gain by 0.00004 dB, and impedances and noise by
    // less than 0.001 %: far under a tenth of their allowances.
    const std::string before = recorded(test::board_from_text(divider));
    const std::string after =
        recorded(with(R"("1k", pins = ["out")", R"("1.00001k", pins = ["out")"));
    std::istringstream a(before);
    std::istringstream b(after);
    std::string changed;
    for (std::string x, y; std::getline(a, x) && std::getline(b, y);) {
        if (x != y) changed += y + "\n";
    }
    CHECK(changed == "R2 = [ \"resistor 1.00001 kΩ\", \"out\", \"gnd\" ]\n");
}

TEST_CASE("figures are recorded to a tenth of their allowance, in steps of 1, 2 or 5") {
    const auto text_of = [](std::string_view measure, double value, Drift allowed) {
        const StandardFigure standard{measure, find_measure(measure), {}};
        return recorded_text({"", "", unset, &standard, value, ""}, allowed);
    };
    CHECK(text_of("gain", -6.0206, {0.05, false}) == "-6.020 dB");
    CHECK(text_of("gain", -6.0206, {0.1, false}) == "-6.02 dB");
    CHECK(text_of("gain", -6.0206, {0.7, false}) == "-6.00 dB");
    CHECK(text_of("gain", -6.0206, {30, false}) == "-6 dB");
    CHECK(text_of("gain", -0.001, {0.05, false}) == "0.000 dB");
    CHECK(text_of("gain", -6.02059991, {0, false}) == "-6.0206 dB");
    CHECK(text_of("phase_margin", 56.5974, {0.5, false}) == "56.60 °");
    CHECK(text_of("high_corner", 2499580, {0.01, true}) == "2.5 MHz");
    CHECK(text_of("input_impedance", 609.461, {0.01, true}) == "609.5 Ω");
    CHECK(text_of("input_impedance", 609.4612345, {0, true}) == "609.461 Ω");
    CHECK(text_of("noise_share", 0.23456, {0.02, false}) == "23.4 %");
    CHECK(text_of("gain", unset, {0.05, false}) == "none");
}

TEST_CASE("a baseline is read back whatever the names") {
    // Invisible characters are left out: no board has them in its names, nor may a baseline.
    const std::vector<std::string> hostile{
        "R2'",          "R\"2\"", "'",           "\"",         "\"\"\"",
        "'''",          "a = b",  "[figures]",   "[[limit]]",  "{ a = 1 }",
        "# comment",    "a # b",  "back\\slash", "a.b",        "a, b",
        "a\\, b",       " ",      "[input]",     "[parts] R1", "opamp x",
        "format",       "Ω²",     "=",           "__proto__",  "]",
        "\\u0000",      "1e5",    "true",        "1979-05-27", "none",
        "<<<<<<< ours", "======="};
    Board board = test::board_from_text(divider);
    const Part r1 = board.parts[0];
    std::vector<Figure> figures;
    const StandardFigure& gain = standard_figures().front();
    for (const std::string& name : hostile) {
        Part part = r1;
        part.name = part.pins[0].node = name;
        board.parts.push_back(part);
        Ripple ripple;
        ripple.name = ripple.source = name;
        board.ripples.push_back(ripple);
        board.variants.push_back({name, name, name, {part}, false, {}});
        Capsule capsule;
        capsule.name = name;
        board.models.capsules[name] = capsule;
        figures.push_back({name, name, 0.25, &gain, static_cast<double>(figures.size()), ""});
    }
    board.name = board.revision = "'\"# = [";
    const Baseline baseline = read_back(baseline_text(board, figures, "1.2.3'\""));
    CHECK(baseline.board == board.name);
    CHECK(baseline.revision == board.revision);
    CHECK(baseline.recorded_by == "1.2.3'\"");
    REQUIRE(baseline.figures.size() == hostile.size());
    Diagnostics out;
    for (const FigureDrift& drift : drift_from(baseline, figures, board, out)) {
        INFO(drift.key);
        CHECK(drift.kind == FigureDrift::Kind::still);
        CHECK(drift.before == drift.after);
    }
    CHECK(test::all_text(out).empty());
    CHECK(baseline.lines.size() == board_lines(board).size());
    CHECK(board_changes(baseline.lines, board_lines(board)).empty());
}

TEST_CASE("a baseline with a merge conflict is named as one") {
    std::string text = recorded(test::board_from_text(divider));
    const std::string line = "\"plain, no capsule, gain\" = \"-6.020 dB\"\n";
    const auto at = text.find(line);
    REQUIRE(at != std::string::npos);
    text.replace(at, line.size(),
                 "<<<<<<< ours\n" + line + "=======\n" + line + ">>>>>>> theirs\n");
    const auto first = 1 + std::count(text.begin(), text.begin() + static_cast<long>(at), '\n');
    CHECK(refusal_of(text) ==
          fmt::format("b:{}:1: error: baseline: there is an unresolved merge conflict from line {} "
                      "to {} [merge-conflict]\n"
                      "{:>5} | <<<<<<< ours\n"
                      "      | ^\n"
                      "      = advice: merge the board file first, then record the baseline again: "
                      "`lowhiss check --record` writes over a conflict\n",
                      first, first, first + 4, first));
}

TEST_CASE("the board's own allowances replace those of the measures") {
    const Baseline baseline = read_back(recorded(test::board_from_text(divider)));
    const std::string wide = "[drift]\ngain = \"0.2 dB\"\ninput_impedance = \"2 %\"\n";
    std::string text = divider + wide;
    const std::string from = R"("1k", pins = ["out")";
    text.replace(text.find(from), from.size(), R"("1k03", pins = ["out")");
    CHECK(drift_of(baseline, test::board_from_text(text)) ==
          "plain, no capsule, output_impedance moved 0.0148\n");

    const auto mistakes = [](const std::string& drift) {
        const auto reader = test::memory_reader({{"board.toml", divider + "[drift]\n" + drift}});
        return test::all_text(read_board("board.toml", reader).diagnostics);
    };
    CHECK(mistakes("gian = \"1 dB\"\n").find("did you mean 'gain'?") != std::string::npos);
    CHECK(mistakes("gain = \"1 %\"\n").find("board.toml:10:8: error: drift.gain") !=
          std::string::npos);
    CHECK(mistakes("low_corner = \"-1 %\"\n").find("0 or more") != std::string::npos);
}

TEST_CASE("what appears, what vanishes and what has no value any more are told apart") {
    const Board plain = test::board_from_text(divider);
    const Board more = test::board_from_text(divider + "[variants.loud]\nset = { R1 = \"10R\" }\n");
    const Baseline baseline = read_back(recorded(plain));
    const std::string appeared = drift_of(baseline, more);
    CHECK(appeared.find("loud, no capsule, gain missing") != std::string::npos);
    CHECK(appeared.find("moved") == std::string::npos);
    const std::string vanished = drift_of(read_back(recorded(more)), plain);
    CHECK(vanished.find("loud, no capsule, gain obsolete") != std::string::npos);
    CHECK(vanished.find("missing") == std::string::npos);
    // A corner appears where there was none: there is no amount of it.
    const Board slow =
        test::board_from_text(divider.substr(0, divider.find("[input]")) +
                              "C1 = { capacitor = \"10n\", pins = [\"out\", \"gnd\"] }\n" +
                              divider.substr(divider.find("[input]")));
    CHECK(drift_of(baseline, slow).find("high_corner moved nan") != std::string::npos);
}

TEST_CASE("a baseline that cannot be used says why and what to do") {
    const std::string good = recorded(test::board_from_text(divider));
    const auto changed = [&](const std::string& from, const std::string& to) {
        std::string text = good;
        return text.replace(text.find(from), from.size(), to);
    };
    CHECK(refusal_of(changed("baseline/1", "baseline/2")) ==
          "b:5:10: error: baseline: the format 'lowhiss-baseline/2' belongs to another version of "
          "lowhiss [baseline-format]\n"
          "    5 | format = \"lowhiss-baseline/2\"\n"
          "      |          ^\n"
          "      = accepted: format = \"lowhiss-baseline/1\"\n"
          "      = advice: use that version, or write the file anew: `lowhiss check --record "
          "--force`\n");
    CHECK(refusal_of("").find("not a baseline") != std::string::npos);
    CHECK(refusal_of(divider).find("not a baseline") != std::string::npos);
    CHECK(refusal_of("figures = [").find("b:1:") != std::string::npos);
    CHECK(refusal_of("format = \"lowhiss-baseline/1\"\n").find("there is no [figures]") !=
          std::string::npos);
    CHECK(refusal_of(changed("[figures]", "[figurse]")).find("did you mean 'figures'?") !=
          std::string::npos);
    CHECK(refusal_of(changed("\"-6.020 dB\"", "true")).find("figures") != std::string::npos);
    // A text that is no value is found when it is compared.
    const std::string nonsense = drift_of(read_back(changed("\"-6.020 dB\"", "\"-6.020 Hz\"")),
                                          test::board_from_text(divider));
    CHECK(nonsense.find("plain, no capsule, gain: '-6.020 Hz'") != std::string::npos);
}

}  // namespace lowhiss::drift_test
