#include "command/sweep.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <algorithm>
#include <cmath>

#include "draw/chart.hpp"
#include "draw/draw.hpp"
#include "draw/gnuplot.hpp"
#include "lowhiss/solver/solver.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

void log_account(const Sweep& sweep, spdlog::logger& log) {
    log.debug("equations solved with {}", instruction_set());
    for (const SweepRun& run : sweep.runs) {
        for (const KnobResult& knob : run.knob) {
            log.debug(
                "knob {}: {} factorisations ({} by the reference path), {} solutions, "
                "backward error at most {:.1e}",
                knob.position, knob.account.factorisations, knob.account.fallbacks,
                knob.account.solutions, knob.account.worst_backward_error);
        }
    }
}

/// One assembly has a sheet of its own; of several, their positions of most gain are compared.
ChartSheet sheet_of_all(const Sweep& sweep) {
    if (sweep.runs.size() == 1) return sheet_of(sweep, sweep.runs.front());
    std::vector<std::pair<std::string, const KnobResult*>> last;
    for (const SweepRun& run : sweep.runs) {
        std::string name = run.variant.empty() ? "plain" : run.variant;
        name += ", " + (run.capsule.empty() ? "ideal source" : run.capsule);
        last.emplace_back(name, &run.knob.back());
    }
    std::string title = sheet_title(sweep.board, sweep.revision, "", "");
    title.resize(title.rfind(", "));
    const double position = sweep.runs.front().knob.back().position;
    if (!std::isnan(position)) title += ", " + knob_name(position);
    return sheet_of_runs(title, sweep.frequency_hz, last);
}

void write_text(const Sweep& result, const std::optional<DrawnBoard>& drawn,
                const SweepOptions& options) {
    const bool color = wants_color(options.common.color, stdout);
    if (options.draw)
        write_output("-", drawn_sheet(sheet_of_all(result), color));
    else
        write_output("-", sweep_table(result, drawn, color));
}

}  // namespace

void add_sweep(CLI::App& app, SweepOptions& options) {
    CLI::App* command =
        app.add_subcommand("sweep", "response, noise and capsule effect at each knob position");
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
                      "show response and hiss in block characters instead of the table");
    command
        ->add_option("--cable", options.cables,
                     "capacitances on the output to try for stability, as 100p,1n,10n")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
    command
        ->add_option("--board-index", options.board_index,
                     "not the board as drawn but this one of a tolerance run's series")
        ->check(as_whole_number)
        ->type_name("N");
    add_series(*command, options.series);
    add_common(*command, options.common);
}

ExitStatus run_sweep(const SweepOptions& options) {
    const std::vector<double> grid = frequencies(options.grid);
    const std::vector<double> knob = knob_positions(options.assembly.knob);
    const std::vector<double> cables = capacitances(options.cables, "--cable");
    refuse_shared_output({options.json, options.csv, options.plot});
    check_plot_name(options.plot);
    keep_apart({options.json, options.csv, options.plot}, {options.board});
    Board board = load(options.board, options.common);
    std::optional<DrawnBoard> drawn;
    if (options.board_index) {
        drawn = {*options.board_index, series_of(options.series)};
        board = random_board(board, drawn->series, drawn->index);
    }
    const bool pictures = !options.plot.empty() || options.draw;
    const bool curves = !options.json.empty() || !options.csv.empty() || pictures;
    SweepRequest request;
    if (curves) request.frequency_hz = grid;
    request.knob = knob;
    request.cables_f = cables;
    request.variants = variant_names(board, options.assembly.variants);
    request.capsules = options.assembly.capsules;
    const auto log = make_logger(options.common);
    if (!knob.empty() && !board.knob) log->warn("--knob does nothing: the board has no [knob]");
    const Sweep result = sweep(board, request);
    print_diagnostics(result.warnings, options.common.quiet, options.common.color);
    log_account(result, *log);
    if (!options.json.empty()) write_output(options.json, sweep_json(result, drawn));
    if (!options.csv.empty()) write_output(options.csv, sweep_csv(result));
    const bool output_taken = options.json == "-" || options.csv == "-" || options.plot == "-";
    if (!options.common.quiet && !output_taken) write_text(result, drawn, options);
    if (!options.plot.empty()) write_plot(options.plot, sheet_of_all(result));
    return done;
}

}  // namespace lowhiss::cli
