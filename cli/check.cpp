#include "check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "console.hpp"
#include "lowhiss/quantity/print.hpp"
#include "output.hpp"

namespace lowhiss::cli {
namespace {

ExitStatus status_of(const std::vector<Verdict>& verdicts) {
    const auto any = [&](Outcome outcome) {
        return std::any_of(verdicts.begin(), verdicts.end(),
                           [&](const Verdict& v) { return v.outcome == outcome; });
    };
    if (any(Outcome::not_computed)) return no_solution;
    return any(Outcome::missed) ? not_met : done;
}

/// For the reports, which need not repeat a hundred slips.
std::string first_errors(const Diagnostics& diagnostics) {
    constexpr int most_repeated = 10;
    std::string text;
    int errors = 0;
    for (const Diagnostic& d : diagnostics) {
        if (d.severity == Severity::error && ++errors <= most_repeated) text += to_text(d);
    }
    if (errors > most_repeated) text += fmt::format("... and {} more\n", errors - most_repeated);
    return text;
}

/// Reads and checks one board; what is wrong with it is kept, so that the others go on.
CheckedBoard check_board(const std::string& path, const CommonOptions& options) {
    CheckedBoard checked{path, path, "", {}, "", done};
    BoardReading reading = read_board(path, disk_reader());
    std::vector<Limit> limits;
    if (reading.board) {
        checked.name = reading.board->name;
        checked.revision = reading.board->revision;
        limits = read_limits(*reading.board, disk_reader(), reading.diagnostics);
    }
    print_diagnostics(reading.diagnostics, options.quiet, options.color);
    if (has_errors(reading.diagnostics)) {
        checked.trouble = first_errors(reading.diagnostics);
        checked.status = unusable;
        return checked;
    }
    checked.verdicts = check_limits(*reading.board, limits);
    checked.status = status_of(checked.verdicts);
    return checked;
}

}  // namespace

std::string figure_text(double value, Unit unit) {
    if (std::isnan(value)) return "-";
    if (unit == Unit::decibel || unit == Unit::dbu) {
        return fmt::format("{:.2f} {}", value, unit == Unit::dbu ? "dBu" : "dB");
    }
    return print_quantity(value, unit, 4);
}

std::string place_text(const Verdict& v) {
    std::string text = v.variant.empty() ? std::string(plain_variant) : v.variant;
    if (!v.capsule.empty()) text += ", " + v.capsule;
    if (!std::isnan(v.knob)) text += fmt::format(", knob {:.4g} %", 100 * v.knob);
    return text;
}

void add_check(CLI::App& app, CheckOptions& options) {
    CLI::App* command = app.add_subcommand(
        "check", "limits in every variant, at every knob position; status 1 where one is not met");
    command->add_option("BOARD", options.boards, "the board files")->required();
    command->add_option("--json", options.json, "write every verdict as JSON; - is standard output")
        ->type_name("FILE");
    command
        ->add_option("--junit", options.junit, "write a test case a verdict as JUnit XML, for CI")
        ->type_name("FILE");
    add_common(*command, options.common);
}

ExitStatus run_check(const CheckOptions& options) {
    if (options.json == "-" && options.junit == "-") {
        throw UsageError("--json and --junit cannot both be standard output");
    }
    std::vector<CheckedBoard> boards;
    for (const std::string& path : options.boards) {
        boards.push_back(check_board(path, options.common));
    }
    if (!options.json.empty()) write_output(options.json, check_json(boards));
    if (!options.junit.empty()) write_output(options.junit, check_junit(boards));
    if (!options.common.quiet && options.json != "-" && options.junit != "-") {
        write_output("-", check_table(boards, wants_color(options.common.color, stdout)));
    }
    ExitStatus worst = done;
    for (const CheckedBoard& board : boards) worst = std::max(worst, board.status);
    return worst;
}

}  // namespace lowhiss::cli
