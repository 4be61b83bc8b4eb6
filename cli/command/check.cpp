#include "command/check.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "command/baseline_check.hpp"
#include "draw/chart.hpp"
#include "draw/gnuplot.hpp"
#include "lowhiss/quantity/print.hpp"
#include "shell/console.hpp"
#include "write/output.hpp"

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

/// A board that could be read, with what is asked of it; or what is wrong with it.
struct Reading {
    std::optional<Board> board;
    CheckedBoard checked;
};

Reading read(const std::string& path, const CommonOptions& options) {
    BoardReading board = read_board(path, disk_reader());
    Reading reading{std::move(board.board), {path, path, "", {}, {}, "", done}};
    if (reading.board) {
        reading.checked.name = reading.board->name;
        reading.checked.revision = reading.board->revision;
    }
    print_diagnostics(board.diagnostics, options.quiet, options.color);
    if (has_errors(board.diagnostics)) {
        reading.checked.trouble = first_errors(board.diagnostics);
        reading.checked.status = unusable;
        reading.board.reset();
    }
    return reading;
}

/// Fills in what came of every board that could be read.
void check_all(std::vector<Reading>& readings, const CheckOptions& options) {
    std::vector<CheckRequest> requests;
    std::vector<Reading*> asked;
    for (Reading& reading : readings) {
        if (!reading.board) continue;
        requests.push_back({&*reading.board, reading.board->limits, !options.limits_only});
        requests.back().stability = true;
        asked.push_back(&reading);
    }
    std::vector<BoardCheck> results = check_boards(requests);
    for (std::size_t k = 0; k < results.size(); ++k) {
        CheckedBoard& checked = asked[k]->checked;
        checked.verdicts = std::move(results[k].verdicts);
        checked.baseline = compare_with_baseline(*asked[k]->board, results[k].figures, options);
        if (options.record) record(*asked[k]->board, results[k].figures, checked.baseline);
        checked.status = std::max(status_of(checked.verdicts), status_of(checked.baseline));
    }
}

/// The response of every assembly, with what its limits ask of the gain.
ChartSheet sheet_with_limits(const Board& board) {
    SweepRequest request;
    request.frequency_hz = plot_grid_hz();
    request.rolloff = request.behaviour = false;
    request.variants = variant_names(board, {"all"});
    const Sweep result = sweep(board, request);
    ChartSheet sheet{board.name, {}};
    if (!board.revision.empty()) sheet.title += ", revision " + board.revision;
    for (const SweepRun& run : result.runs) {
        Chart gain = sheet_of(result, run).charts.front();
        gain.title = place_text(run.variant, run.capsule, unset);
        add_bounds(board.limits, run.variant, gain);
        sheet.charts.push_back(std::move(gain));
    }
    return sheet;
}

void refuse_contradictions(const CheckOptions& options) {
    refuse_shared_output({options.json, options.junit, options.plot});
    check_plot_name(options.plot);
    if (!options.plot.empty() && options.boards.size() > 1) {
        throw UsageError("--plot draws one board; check the others without it");
    }
    if (options.record && options.limits_only) {
        throw UsageError("--record and --limits-only contradict each other; leave one out");
    }
    if (options.record && in_ci() && !options.force) {
        throw UsageError(
            "--record: the environment says CI, where nobody looks at what is accepted; record at "
            "the desk and commit the file, or add --force");
    }
}

}  // namespace

std::string figure_text(double value, Unit unit) {
    if (std::isnan(value)) return "-";
    if (unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl) {
        return fmt::format("{:.2f} {}", value, info(unit).symbol);
    }
    return print_quantity(value, unit, 4);
}

Unit difference_unit(Unit unit) {
    return unit == Unit::dbu || unit == Unit::db_spl ? Unit::decibel : unit;
}

std::string place_text(const std::string& variant, const std::string& capsule, double knob) {
    std::string text = variant.empty() ? std::string(plain_variant) : variant;
    if (!capsule.empty()) text += ", " + capsule;
    if (!std::isnan(knob)) text += fmt::format(", knob {:.4g} %", 100 * knob);
    return text;
}

void add_check(CLI::App& app, CheckOptions& options) {
    CLI::App* command = app.add_subcommand(
        "check",
        "limits and baselines in every variant, at every knob position; status 1 where not met");
    command->add_option("BOARD", options.boards, "the board files")->required();
    command->add_option("--json", options.json, "write every verdict as JSON; - is standard output")
        ->type_name("FILE");
    command
        ->add_option("--junit", options.junit, "write a test case a verdict as JUnit XML, for CI")
        ->type_name("FILE");
    add_plot(*command, options.plot);
    command->add_flag(
        "--record", options.record,
        "accept the figures as they are: write BOARD's baseline, and show what moved");
    command->add_flag("--force", options.force, "let --record write in CI too");
    command->add_flag("--limits-only", options.limits_only, "leave baselines aside");
    add_common(*command, options.common);
}

ExitStatus run_check(const CheckOptions& options) {
    refuse_contradictions(options);
    std::vector<std::string> inputs = options.boards;
    for (const std::string& board : options.boards) inputs.push_back(baseline_path(board));
    keep_apart({options.json, options.junit, options.plot}, inputs);
    std::vector<Reading> readings;
    for (const std::string& path : options.boards) readings.push_back(read(path, options.common));
    check_all(readings, options);
    std::vector<CheckedBoard> boards;
    boards.reserve(readings.size());
    for (Reading& reading : readings) boards.push_back(std::move(reading.checked));
    const Reading& first = readings.front();
    // First what was found, which has to be seen whatever becomes of the files.
    const bool output_taken = options.json == "-" || options.junit == "-" || options.plot == "-";
    if (!options.common.quiet && !output_taken) {
        write_output("-", check_table(boards, wants_color(options.common.color, stdout)));
    }
    if (!options.json.empty()) write_output(options.json, check_json(boards));
    if (!options.junit.empty()) write_output(options.junit, check_junit(boards));
    if (!options.plot.empty() && first.board) {
        write_plot(options.plot, sheet_with_limits(*first.board));
    }
    ExitStatus worst = done;
    for (const CheckedBoard& board : boards) worst = std::max(worst, board.status);
    return worst;
}

}  // namespace lowhiss::cli
