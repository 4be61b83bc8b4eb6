#include "command/choose.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <thread>

#include "shell/interruption.hpp"
#include "shell/log.hpp"
#include "shell/names.hpp"
#include "shell/progress.hpp"
#include "write/choose_report.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

/// Reports how long all sets will take, if that is long, by timing a few that are spread over all
/// of them.
void tell_time(const Board& board, double sets, bool quiet) {
    constexpr double long_s = 10;
    constexpr std::uint64_t timed_sets = 8;
    if (quiet || sets < 1000) return;
    const Judge judge(board);
    judge.score(value_set(*board.choose, 0));  // makes the plans
    const auto begin = std::chrono::steady_clock::now();
    for (std::uint64_t k = 0; k < timed_sets; ++k) {
        judge.score(value_set(*board.choose, static_cast<std::uint64_t>(sets) / timed_sets * k));
    }
    const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - begin;
    const double cores = std::max(1U, std::thread::hardware_concurrency());
    const double all_s = taken.count() / timed_sets * sets / cores;
    if (all_s < long_s) return;
    fmt::print(stderr, "lowhiss: note: {:.0f} sets of values take about {}\n", sets,
               time_text(all_s));
}

const Choose& require_choose(const Board& board) {
    if (board.choose) return *board.choose;
    throw UsageError(
        fmt::format("'{}' has no [choose]; accepted: a board with [choose] that says which values "
                    "are open, as least = \"ein\" and parts = {{ R4 = \"E24\" }}",
                    board.path));
}

/// The variant that the aim's figure is of, if it is one.
std::string variant_of(const Choose& choose) {
    const std::vector<std::string>& names = choose.figure.variants;
    return names.size() == 1 && names.front() != plain_variant ? names.front() : "";
}

/// The knob position at which the figures of the sets are shown: that where the aim's figure is
/// worst, else the last.
double knob_of(const Board& board, const Chosen& chosen) {
    if (!board.knob) return unset;
    const double worst = chosen.best.empty() ? unset : chosen.best.front().verdicts.figure.knob;
    return std::isnan(worst) ? board.knob->positions.back() : worst;
}

void add_figures(ChooseReport& report, const std::vector<Board>& boards) {
    std::vector<Board> assembled;
    assembled.reserve(boards.size());
    for (const Board& board : boards) {
        assembled.push_back(with_variant(board, variant_named(board, report.variant)));
    }
    CompareRequest request;
    for (const Board& board : assembled) request.boards.push_back(&board);
    request.knob = {std::isnan(report.knob) ? 0 : report.knob};
    for (auto& positions : compare(request))
        report.positions.push_back(std::move(positions.front()));
}

void add_yields(ChooseReport& report, const std::vector<Board>& boards,
                const ChooseOptions& options) {
    if (options.boards == 0) return;
    for (const Board& board : boards) {
        SpreadRequest request;
        request.series = report.series;
        request.count = options.boards;
        request.variant = report.variant;
        request.limits = board.limits;
        request.figures = false;
        ProgressLine line(options.boards, options.common.quiet);
        const Watch watch{[&](std::size_t done) { line.show(done); }, Interruption::came};
        const Yield yield = yield_of_boards(board, request, watch);
        if (Interruption::came()) return;  // it may be of fewer boards
        report.yields.push_back(yield);
    }
}

/// The path of the board from the folder of the file that is based on it.
std::string path_from(const std::string& file, const std::string& board) {
    namespace fs = std::filesystem;
    std::error_code error;
    const fs::path folder = file == "-" ? fs::path() : fs::path(file).parent_path();
    const fs::path from = fs::weakly_canonical(folder.empty() ? fs::path(".") : folder, error);
    const fs::path to = fs::weakly_canonical(board, error);
    const fs::path path = to.lexically_relative(from);
    return path.empty() ? to.string() : path.string();
}

void apply(const ChooseReport& report, const ChooseOptions& options) {
    const ChosenSet& best = report.chosen.best.front();
    const std::string partly =
        report.chosen.stopped
            ? fmt::format(" It was interrupted after {} sets: there may be better ones.",
                          report.chosen.tried)
            : "";
    const std::string head = fmt::format("# Values chosen by lowhiss choose: {}.{}\n",
                                         aim_text(*report.board->choose), partly);
    write_output(options.apply, head + revision_text(*report.board, best.values,
                                                     path_from(options.apply, options.board)));
}

/// The board as drawn, then with each of the best sets.
std::vector<Board> boards_of(const ChooseReport& report) {
    std::vector<Board> boards{*report.board};
    for (const ChosenSet& set : report.chosen.best) {
        boards.push_back(board_with_values(*report.board, set.values));
    }
    return boards;
}

ExitStatus choose_and_report(const Board& board, const ChooseOptions& options) {
    const auto log = make_logger(options.common);
    ChooseRequest wanted;
    wanted.best = options.best;
    wanted.seed = options.series.seed;
    wanted.starts = options.starts;
    ChooseReport report = chosen_values(board, wanted, options.common.quiet, *log);
    report.series = series_of(options.series);
    report.boards = options.boards;
    if (report.chosen.tried == 0) {
        fmt::print(stderr,
                   "lowhiss: interrupted before the first set was computed; nothing written\n");
        return not_met;
    }
    if (!report.chosen.best.empty()) {
        timed(*log, "yields", [&] {
            add_yields(report, boards_of(report), options);
            return 0;
        });
        if (!options.apply.empty()) {
            apply(report, options);
            report.applied = options.apply;
        }
    }
    if (!options.json.empty()) write_output(options.json, choose_json(report));
    if (!options.common.quiet && options.json != "-" && options.apply != "-") {
        write_output("-", choose_table(report, wants_color(options.common.color, stdout)));
    }
    return report.chosen.best.empty() ? not_met : done;
}

}  // namespace

void check_choosable(const Board& board) {
    const double sets = sets_of(require_choose(board));
    if (sets <= most_sets) return;
    throw UsageError(
        fmt::format("[choose] has {:.3g} sets of values; accepted: up to {:.0e}", sets, most_sets));
}

ChooseReport chosen_values(const Board& board, const ChooseRequest& request, bool quiet,
                           spdlog::logger& log) {
    ChooseReport report;
    report.board = &board;
    report.request = request;
    const double sets = sets_of(*board.choose);
    const bool complete = sets <= request.complete;
    if (complete) tell_time(board, sets, quiet);
    report.chosen = timed(log, "sets of values", [&] {
        ProgressLine line(complete ? static_cast<std::size_t>(sets) : request.starts, quiet,
                          complete ? "sets" : "starts");
        const Watch watch{[&](std::size_t done) { line.show(done); }, Interruption::came};
        return choose_values(board, request, watch);
    });
    report.variant = variant_of(*board.choose);
    report.knob = knob_of(board, report.chosen);
    if (!report.chosen.best.empty()) add_figures(report, boards_of(report));
    return report;
}

void add_choose(CLI::App& app, ChooseOptions& options) {
    CLI::App* command = app.add_subcommand(
        "choose",
        "the best values of the parts that [choose] leaves open; exits 1 if none meet "
        "the limits");
    command->add_option("BOARD", options.board, "a board file with [choose]")->required();
    command->add_option("--best", options.best, "how many sets of values to list")
        ->check(CLI::Range(1, 100))
        ->capture_default_str();
    command
        ->add_option("--boards", options.boards,
                     "also find the yield of each listed set, from this many random boards")
        ->check(CLI::Range(1, 1'000'000));
    command
        ->add_option("--starts", options.starts,
                     "random starting sets of a search, which there is above a million sets")
        ->check(CLI::Range(1, 100'000))
        ->capture_default_str();
    add_series(*command, options.series);
    command
        ->add_option("--apply", options.apply,
                     "write a board file based on this one, with the best set")
        ->type_name("FILE.toml");
    command->add_option("--json", options.json, "write everything as JSON; - is standard output")
        ->type_name("FILE");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_choose(const ChooseOptions& options) {
    refuse_shared_output({options.json, options.apply});
    if (!options.apply.empty() && !options.common.set.empty()) {
        throw UsageError(
            "--apply and --set exclude each other: the file is based on the board alone");
    }
    const Board board = load(options.board, options.common);
    keep_apart({options.json, options.apply}, *options.common.files);
    check_choosable(board);
    const Interruption interruption;
    const ExitStatus status = choose_and_report(board, options);
    Interruption::end_by_it();
    return status;
}

}  // namespace lowhiss::cli
