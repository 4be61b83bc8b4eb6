#include "command/sweep.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <spdlog/logger.h>

#include <CLI/CLI.hpp>
#include <algorithm>

#include "draw/block_chart.hpp"
#include "draw/chart.hpp"
#include "draw/gnuplot.hpp"
#include "lowhiss/series/worst_board.hpp"
#include "lowhiss/solver/solver.hpp"
#include "lowhiss/sweep/peak_grid.hpp"
#include "lowhiss/sweep/sweep.hpp"
#include "lowhiss/text/nearest.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/figure_text.hpp"
#include "write/output.hpp"
#include "write/sweep_csv.hpp"
#include "write/sweep_json.hpp"
#include "write/sweep_text.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

void log_account(const Sweep& sweep, spdlog::logger& log) {
    log.debug("equations solved with {}", instruction_set(*lane_kernels().front()));
    for (const SweepRun& run : sweep.runs) {
        for (const KnobResult& knob : run.knob) {
            log_solutions(knob.account, place_text(run.variant, run.capsule, knob.position), log);
        }
    }
}

/// A single run has a sheet of its own; several are compared where each has most gain.
ChartSheet sheet_of_all(const Sweep& sweep) {
    if (sweep.runs.size() == 1) return sheet_of(sweep, sweep.runs.front());
    std::vector<std::pair<std::string, const SweepRun*>> runs;
    for (const SweepRun& run : sweep.runs) {
        std::string name = run.variant.empty() ? "plain" : run.variant;
        name += ", " + (run.capsule.empty() ? "ideal source" : run.capsule);
        runs.emplace_back(name, &run);
    }
    return sheet_at_most_gain(board_title(sweep.board, sweep.revision), sweep.frequency_hz, runs);
}

/// The curves of a picture, on a grid that has their peaks; files of numbers keep the grid asked
/// for.
Sweep with_curves_to_plot(const Board& board, SweepRequest request,
                          const std::vector<double>& grid_hz) {
    request.frequency_hz = grid_hz;
    request.rolloff = request.behaviour = request.source = request.distortion = false;
    request.frequency_hz = grid_with_peaks(board, request);
    return sweep(board, request);
}

void write_text(const Sweep& result, const std::optional<SeriesBoard>& board,
                const SweepOptions& options) {
    const bool color = wants_color(options.common.color, stdout);
    if (options.draw)
        write_output("-", block_sheet(sheet_of_all(result), color));
    else
        write_output("-", sweep_text(result, board, table_choice(options.show), color));
}

/// Empty for the name of a table, else what is wrong with it.
std::string as_table_name(const std::string& text) {
    const std::vector<std::string> names = sweep_table_names();
    if (std::find(names.begin(), names.end(), text) != names.end()) return "";
    const std::string advice = did_you_mean(text, names);
    return fmt::format("there is no table '{}'; accepted: {}{}", text, listed(names),
                       advice.empty() ? "" : "; " + advice);
}

constexpr std::string_view worst_word = "worst";

/// Empty for the number of a board, "worst" or "worst:LIMIT"; else what is wrong with it.
std::string as_board_index(const std::string& text) {
    if (text == worst_word) return "";
    if (text.starts_with("worst:") && text.size() > 6) return "";
    const std::string wrong = as_whole_number(text);
    return wrong.empty() ? "" : wrong + "; also accepted: worst, or worst:LIMIT";
}

/// Replaces the board by the one of the series that is asked for.
SeriesBoard take_board(const SweepOptions& options, Board& board) {
    SeriesBoard taken;
    taken.series = series_of(options.series);
    if (!options.board_index.starts_with(worst_word)) {
        taken.index = std::stoull(options.board_index);
        board = random_board(board, taken.series, *taken.index);
        return taken;
    }
    const std::vector<std::string> variants = variant_names(board, options.assembly.variants);
    if (variants.size() > 1) {
        throw UsageError(
            "--board-index worst: the worst board is one of a single variant; name it "
            "once by --variant");
    }
    SpreadRequest request;
    request.series = taken.series;
    request.first = options.range.first;
    request.count = options.range.boards;
    if (!variants.empty()) request.variant = variants.front();
    variant_named(board, request.variant);
    const auto colon = options.board_index.find(':');
    WorstBoard worst = find_worst_board(
        board, request, colon == std::string::npos ? "" : options.board_index.substr(colon + 1));
    const FoundEnd& end = worst.found.worst();
    const Verdict& v = worst.nominal;
    taken.index = end.board;
    taken.limit = v.limit;
    taken.place = place_text(v.variant, v.capsule, v.knob);
    taken.draws = worst.found.draws;
    taken.ends = end.ends;
    board = std::move(worst.board);
    return taken;
}

void add_show(CLI::App& command, std::vector<std::string>& show) {
    std::vector<std::string_view> standard;
    for (const SweepTable& table : sweep_tables()) {
        if (table.standard) standard.push_back(table.name);
    }
    const std::string choices = fmt::format("{{{}}}", fmt::join(sweep_table_names(), ","));
    command
        .add_option("--show", show,
                    fmt::format("tables to print instead of {}, as stability,output; repeat for "
                                "more",
                                fmt::join(standard, ",")))
        ->type_name("LIST")
        ->check(
            CLI::Validator([](const std::string& text) { return as_table_name(text); }, choices))
        ->delimiter(',')
        ->allow_extra_args(false);
}

}  // namespace

void add_sweep(CLI::App& app, SweepOptions& options) {
    CLI::App* command = app.add_subcommand(
        "sweep", "gain, noise and bass at each knob position, with alarms; more by --show");
    command->add_option("BOARD", options.board, "the board file")->required();
    add_assembly(*command, options.assembly);
    add_grid(*command, options.grid);
    command
        ->add_option("--json", options.json,
                     "write all figures and curves as JSON; - is standard output")
        ->type_name("FILE");
    command->add_option("--csv", options.csv, "write the curves as CSV; - is standard output")
        ->type_name("FILE");
    add_plot(*command, options.plot);
    command->add_flag("--draw", options.draw,
                      "draw response and noise in block characters instead of the tables");
    add_show(*command, options.show);
    command
        ->add_option("--cable", options.cables,
                     "load capacitances to check for stability, as 100p,1n,10n")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
    command
        ->add_option("--board-index", options.board_index,
                     "sweep this random board of a tolerance run instead of the nominal one: its "
                     "number, worst for the worst board found, or worst:LIMIT")
        ->check(as_board_index)
        ->type_name("N");
    add_series(*command, options.series);
    add_range(*command, options.range);
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_sweep(const SweepOptions& options) {
    const std::vector<double> grid = frequencies(options.grid);
    const std::vector<double> knob = knob_positions(options.assembly.knob);
    const std::vector<double> cables = capacitances(options.cables, "--cable");
    refuse_shared_output({options.json, options.csv, options.plot});
    check_plot_name(options.plot);
    if (options.draw && !options.show.empty()) {
        throw UsageError("--draw prints no tables and --show names some; leave one out");
    }
    Board board = load(options.board, options.common);
    keep_apart({options.json, options.csv, options.plot}, *options.common.files);
    const auto log = make_logger(options.common);
    std::optional<SeriesBoard> series_board;
    if (!options.board_index.empty()) {
        series_board =
            timed(*log, "board of the series", [&] { return take_board(options, board); });
    }
    const bool curves = !options.json.empty() || !options.csv.empty() || options.draw;
    SweepRequest request;
    if (curves) request.frequency_hz = grid;
    request.knob = knob;
    request.cables_f = cables;
    request.variants = variant_names(board, options.assembly.variants);
    request.capsules = options.assembly.capsules;
    const auto asked = [&](const char* table) {
        return std::find(options.show.begin(), options.show.end(), table) != options.show.end();
    };
    request.source = !options.json.empty() || asked("source") || asked("all");
    request.distortion = !options.json.empty() || asked("distortion") || asked("all");
    warn_of_unused_knob(knob, board, options.common);
    const Sweep result = timed(*log, "sweep", [&] { return sweep(board, request); });
    print_diagnostics(result.warnings, options.common.quiet, options.common.color);
    log_account(result, *log);
    if (!options.json.empty()) write_output(options.json, sweep_json(result, series_board));
    if (!options.csv.empty()) write_output(options.csv, sweep_csv(result));
    const bool output_taken = options.json == "-" || options.csv == "-" || options.plot == "-";
    if (!options.common.quiet && !output_taken) write_text(result, series_board, options);
    if (!options.plot.empty()) {
        write_plot(options.plot, sheet_of_all(with_curves_to_plot(board, request, grid)));
    }
    return done;
}

}  // namespace lowhiss::cli
