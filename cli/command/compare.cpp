#include "command/compare.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>
#include <tuple>

#include "command/named_board.hpp"
#include "command/set_lists.hpp"
#include "command/stability_warning.hpp"
#include "command/supply_warning.hpp"
#include "draw/chart.hpp"
#include "draw/gnuplot.hpp"
#include "lowhiss/board/board_lines.hpp"
#include "lowhiss/sweep/peak_grid.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/compare_json.hpp"
#include "write/compare_table.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

/// A warning that a board has with several alterations is printed once.
Board loaded_with(const std::string& path, const std::vector<std::string>& set,
                  const CommonOptions& options, std::set<std::string>& told) {
    const auto log = make_logger(options);
    BoardReading reading = read_board(path, logging(disk_reader(), log, options.files), set);
    std::erase_if(reading.diagnostics,
                  [&](const Diagnostic& d) { return !told.insert(to_text(d)).second; });
    print_diagnostics(reading.diagnostics, options.quiet, options.color);
    if (!reading.board) throw Silent{unusable};
    return *std::move(reading.board);
}

Board assembled(const NamedBoard& name, const std::vector<std::string>& set,
                const CompareOptions& options, std::set<std::string>& told) {
    const Board board = loaded_with(name.path, set, options.common, told);
    Board result = with_variant(board, variant_named(board, name.variant));
    result.variants.clear();
    if (!options.capsule.empty()) {
        capsule_named(result, options.capsule);  // throws if the board does not know it
        result.input.capsule = options.capsule;
    }
    return result;
}

std::vector<double> positions_of(const std::vector<Board>& boards,
                                 const std::vector<std::string>& asked) {
    if (!asked.empty()) return knob_positions(asked);
    const auto turned = std::find_if(boards.begin(), boards.end(),
                                     [](const Board& board) { return board.knob.has_value(); });
    return turned == boards.end() ? std::vector<double>{0} : turned->knob->positions;
}

std::vector<std::string> position_names(const CompareRequest& request, bool any_knob) {
    std::vector<std::string> names;
    for (const double gain_db : request.gain_db) names.push_back(fmt::format("{:.4g} dB", gain_db));
    for (const double rotation : request.knob) {
        names.push_back(any_knob ? fmt::format("{:.4g} %", 100 * rotation) : "no knob");
    }
    return names;
}

ComparisonReport comparison(const std::vector<NamedBoard>& names, const std::vector<Board>& boards,
                            const CompareRequest& request) {
    const bool any_knob = std::any_of(boards.begin(), boards.end(),
                                      [](const Board& board) { return board.knob.has_value(); });
    ComparisonReport report{position_names(request, any_knob), {}};
    auto positions = compare(request);
    const std::vector<BoardLine> first = board_lines(boards.front());
    for (std::size_t k = 0; k < boards.size(); ++k) {
        const Board& board = boards[k];
        report.boards.push_back({board_label(k), names[k].path, names[k].variant,
                                 board.input.capsule, board.name, board.revision,
                                 board_changes(first, board_lines(board)), std::move(positions[k]),
                                 board.set});
    }
    return report;
}

/// Whether the boards have the gains of --at-gain, or nearly.
struct Reach {
    bool any = false;
    bool all = true;
};

/// Prints an error for each gain that a board does not reach.
Reach reach_of(const ComparisonReport& report) {
    Reach reach;
    for (const ComparedBoard& board : report.boards) {
        for (std::size_t k = 0; k < board.positions.size(); ++k) {
            const ComparedPosition& position = board.positions[k];
            reach.any = reach.any || position.reached;
            reach.all = reach.all && position.reached;
            if (position.reached) continue;
            const std::string nearest =
                std::isnan(position.nearest_db)
                    ? "it has no gain"
                    : fmt::format("the nearest is {:.2f} dB", position.nearest_db);
            fmt::print(stderr,
                       "lowhiss: error: --at-gain: {}, {}, has no gain of {}: {}; accepted: a gain "
                       "within {} dB of one that it has\n",
                       board.label, board.name, report.positions[k], nearest, near_gain_db);
        }
    }
    return reach;
}

/// The grid and the peaks of every board at every position that it reaches.
std::vector<double> grid_with_all_peaks(const ComparisonReport& report,
                                        const std::vector<Board>& boards,
                                        std::vector<double> grid_hz) {
    SweepRequest request;
    request.frequency_hz = grid_hz;
    for (std::size_t k = 0; k < boards.size(); ++k) {
        request.knob.clear();
        for (const ComparedPosition& position : report.boards[k].positions) {
            const double rotation = std::isnan(position.rotation) ? 0 : position.rotation;
            if (position.reached) request.knob.push_back(rotation);
        }
        if (!request.knob.empty()) merge_frequencies(grid_hz, grid_with_peaks(boards[k], request));
    }
    return grid_hz;
}

/// A curve for every board at every position that it reaches: one colour a board, one pattern of
/// dashes a position.
ChartSheet comparison_sheet(const ComparisonReport& report, const std::vector<Board>& boards) {
    SweepRequest request;
    request.frequency_hz = plot_grid_hz();
    request.rolloff = request.behaviour = false;
    request.frequency_hz = grid_with_all_peaks(report, boards, request.frequency_hz);
    std::vector<std::pair<std::string, KnobResult>> solved;
    std::vector<std::pair<int, int>> places;  // board and position of each
    std::string title = "Compared: ";
    for (std::size_t k = 0; k < boards.size(); ++k) {
        const ComparedBoard& board = report.boards[k];
        title += fmt::format("{}{} {}", k == 0 ? "" : ", ", board.label, board.name);
        if (!board.revision.empty()) title += " " + board.revision;
        if (!board.variant.empty()) title += " " + board.variant;
        for (std::size_t i = 0; i < board.positions.size(); ++i) {
            const ComparedPosition& position = board.positions[i];
            if (!position.reached) continue;
            const double rotation = std::isnan(position.rotation) ? 0 : position.rotation;
            places.emplace_back(static_cast<int>(k), static_cast<int>(i));
            solved.emplace_back(
                fmt::format("{}, {}", board.label, report.positions[i]),
                solve_position(boards[k], capsule_named(boards[k], boards[k].input.capsule),
                               rotation, {}, request));
        }
    }
    std::vector<std::pair<std::string, const KnobResult*>> named;
    named.reserve(solved.size());
    for (const auto& [name, result] : solved) named.emplace_back(name, &result);
    ChartSheet sheet = sheet_of_runs(title, request.frequency_hz, named);
    for (Chart& chart : sheet.charts) {
        for (std::size_t k = 0; k < chart.curves.size(); ++k) {
            std::tie(chart.curves[k].colour, chart.curves[k].pattern) = places[k];
        }
    }
    return sheet;
}

}  // namespace

void add_compare(CLI::App& app, CompareOptions& options) {
    CLI::App* command = app.add_subcommand(
        "compare", "boards, revisions or variants side by side, with their differences");
    command
        ->add_option(
            "BOARD", options.boards,
            "two or more board files, or one and a --set; BOARD@NAME is the variant of that "
            "name")
        ->required();
    command->add_option("--capsule", options.capsule, "use this capsule with every board")
        ->type_name("NAME")
        ->check(CLI::Validator(
            [](const std::string& name) { return name.empty() ? "the name is empty" : ""; }, ""));
    command
        ->add_option(
            "--knob", options.knob,
            "knob positions, as 0,0.5,1 or 0,50,100; default: those of the first board with a knob")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
    command
        ->add_option("--at-gain", options.at_gain,
                     "gains at 1 kHz, as 20dB,40dB,60dB; each board's knob is set to each gain")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
    command->add_option("--json", options.json, "write all figures as JSON; - is standard output")
        ->type_name("FILE");
    add_plot(*command, options.plot);
    add_set(*command, options.common);
    command->get_option("--set")->description(
        "alter the boards: PART=VALUE, as R5=15R, or PART.key=VALUE; a list, as R5=15R,22R,33R, "
        "makes a column of each value; repeat for every combination");
    add_common(*command, options.common);
}

ExitStatus run_compare(const CompareOptions& options) {
    std::vector<std::vector<std::string>> lists;
    for (const std::string& text : options.common.set) lists.push_back(set_list(text));
    std::vector<std::vector<std::string>> alterations = combinations(lists);
    if (options.boards.size() * alterations.size() < 2) {
        if (lists.empty()) {
            throw UsageError("compare needs two boards or more, or one and a --set");
        }
        alterations.insert(alterations.begin(), std::vector<std::string>{});  // the board as drawn
    }
    if (!options.knob.empty() && !options.at_gain.empty()) {
        throw UsageError("--knob and --at-gain exclude each other; leave one out");
    }
    std::vector<NamedBoard> names;
    std::vector<Board> boards;
    std::set<std::string> told;
    for (const std::string& text : options.boards) {
        for (const auto& set : alterations) {
            names.push_back(named_board(text));
            boards.push_back(assembled(names.back(), set, options, told));
        }
    }
    refuse_shared_output({options.json, options.plot});
    check_plot_name(options.plot);
    keep_apart({options.json, options.plot}, *options.common.files);
    CompareRequest request;
    for (const Board& board : boards) request.boards.push_back(&board);
    request.gain_db = gains_db(options.at_gain, "--at-gain");
    if (request.gain_db.empty()) request.knob = positions_of(boards, options.knob);
    ComparisonReport report = comparison(names, boards, request);
    if (options.boards.size() == 1) {
        std::copy_if(lists.begin(), lists.end(), std::back_inserter(report.varied),
                     [](const auto& list) { return list.size() > 1; });
    }
    for (std::size_t k = 0; k < boards.size(); ++k) {
        const std::string name = fmt::format("{}, {}", board_label(k), boards[k].name);
        warn_if_unstable(boards[k], name, options.common);
        warn_of_supply_faults(boards[k], name, options.common);
    }
    const Reach reach = reach_of(report);
    if (!reach.any) return unusable;
    if (!options.json.empty()) write_output(options.json, compare_json(report));
    if (!options.common.quiet && options.json != "-" && options.plot != "-") {
        write_output("-", compare_table(report, wants_color(options.common.color, stdout)));
    }
    if (!options.plot.empty()) write_plot(options.plot, comparison_sheet(report, boards));
    return reach.all ? done : unusable;
}

}  // namespace lowhiss::cli
