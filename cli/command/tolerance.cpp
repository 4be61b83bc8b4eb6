#include "command/tolerance.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <cmath>

#include "command/stability_warning.hpp"
#include "draw/chart.hpp"
#include "draw/gnuplot.hpp"
#include "lowhiss/series/not_varied.hpp"
#include "lowhiss/topology/check.hpp"
#include "shard/series_result.hpp"
#include "shell/interruption.hpp"
#include "shell/log.hpp"
#include "shell/progress.hpp"
#include "write/output.hpp"
#include "write/titles.hpp"
#include "write/tolerance_json.hpp"
#include "write/tolerance_table.hpp"

namespace lowhiss::cli {
namespace {

/// Parses "K/N"; "" is the whole series.
Shard shard_of(const ToleranceOptions& options) {
    if (options.shard.empty()) return {};
    const char* const end = options.shard.data() + options.shard.size();
    Shard shard{0, 0};
    const auto number = std::from_chars(options.shard.data(), end, shard.number);
    if (number.ec == std::errc() && number.ptr != end && *number.ptr == '/') {
        const auto of = std::from_chars(number.ptr + 1, end, shard.of);
        const bool is_shard =
            of.ec == std::errc() && of.ptr == end && shard.number >= 1 && shard.number <= shard.of;
        if (is_shard && shard.of > options.range.boards) {
            throw UsageError(
                fmt::format("--shard: {} shards of {} boards; accepted: no more "
                            "shards than boards",
                            shard.of, options.range.boards));
        }
        if (is_shard) return shard;
    }
    throw UsageError(fmt::format(
        "--shard: '{}' is not a shard; accepted: K/N with K from 1 to N, as 2/8", options.shard));
}

/// Every value of every board is kept in memory, here and when shards are merged.
void reject_too_many(const BoardCheck& nominal, std::size_t boards) {
    if (values_in(nominal, boards) <= most_values) return;
    throw UsageError(
        fmt::format("--boards: {} boards with {} figures and {} limit checks each are too many; "
                    "accepted: up to {:.0f}; use fewer boards or knob positions",
                    boards, nominal.figures.size(), nominal.verdicts.size(),
                    std::floor(most_values / values_in(nominal, 1))));
}

/// A series of a board without a solution has no yield, with limits or without.
void refuse_without_solution(const Board& assembled, const BoardCheck& nominal) {
    const std::vector<double> none{0};
    const Diagnostics findings =
        check_assembly(assembled, capsule_named(assembled, assembled.input.capsule),
                       assembled.knob ? assembled.knob->positions : none);
    if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, findings);
    const std::string why = why_without_solution(nominal);
    if (why.empty()) return;
    Diagnostic d;
    d.code = "no-unique-solution";
    d.found = why;
    throw Error(Error::Kind::no_unique_solution, {d});
}

void refuse_if_none_is_solved(const SeriesValues& values) {
    if (values.count == 0 || values.without_solution.size() < values.count) return;
    Diagnostic d;
    d.code = "no-unique-solution";
    d.found = fmt::format("none of the {} random boards has a solution; board {}: {}", values.count,
                          values.without_solution.front(), values.why_without);
    throw Error(Error::Kind::no_unique_solution, {d});
}

SeriesResult compute(const ToleranceOptions& options, Board& board, bool& unstable) {
    SeriesResult result;
    SeriesRun& run = result.run;
    const auto log = make_logger(options.common);
    const FileReader reader = noting(disk_reader(), run.files);
    board = load(options.board, options.common, reader);
    keep_apart({options.json, options.result, options.plot}, *options.common.files);
    SpreadRequest request;
    request.limits = board.limits;
    const Board assembled = with_variant(board, variant_named(board, options.variant));
    result.path = options.board;
    result.board = board.name;
    result.revision = board.revision;
    result.capsule = assembled.input.capsule;
    unstable = timed(*log, "stability",
                     [&] { return warn_if_unstable(assembled, board.name, options.common); });
    result.temperature_range = board.temperature_range;
    run.version = LOWHISS_VERSION;
    run.variant = request.variant = options.variant;
    run.set = board.set;
    run.series = request.series = series_of(options.series);
    run.first = options.range.first;
    run.boards = options.range.boards;
    result.shard = shard_of(options);
    const Stretch stretch = stretch_of(run, result.shard);
    request.first = stretch.first;
    request.count = stretch.count;
    result.nominal = timed(*log, "nominal board", [&] { return check_nominal(board, request); });
    log_solutions(result.nominal.account, "nominal board", *log);
    refuse_without_solution(assembled, result.nominal);
    reject_too_many(result.nominal, run.boards);
    if (result.shard.number == 1) {
        result.effects = timed(*log, "effects of the parts on the limits", [&] {
            return find_effects(board, request.variant, request.limits, result.nominal.verdicts);
        });
        result.slopes = timed(*log, "sensitivities of the figures", [&] {
            return find_slopes(board, request.variant, result.nominal.figures);
        });
    }
    ProgressLine line(stretch.count, options.common.quiet);
    const Watch watch{[&](std::size_t done) { line.show(done); }, Interruption::came};
    result.values = timed(*log, fmt::format("series of {} boards", stretch.count),
                          [&] { return compute_series(board, request, result.nominal, watch); });
    refuse_if_none_is_solved(result.values);
    return result;
}

SeriesResult merge(const std::vector<std::string>& files) {
    std::vector<NamedResult> shards;
    shards.reserve(files.size());
    double values = 0;
    for (const std::string& file : files) {
        shards.push_back({file, read_result(file)});
        const SeriesResult& result = shards.back().result;
        values += values_in(result.nominal, result.values.count);
        if (values <= most_values) continue;
        throw UsageError(
            fmt::format("the results up to '{}' have more than {:.0f} values; accepted: "
                        "the shards of one run, which have no more",
                        file, most_values));
    }
    return merged(std::move(shards));
}

bool lacks_solution(const SeriesResult& result) {
    const auto& verdicts = result.nominal.verdicts;
    return std::any_of(verdicts.begin(), verdicts.end(), [](const Verdict& verdict) {
        return verdict.outcome == Outcome::not_computed;
    });
}

SpreadRequest request_of(const SeriesResult& result, const Board& board) {
    SpreadRequest request;
    request.series = result.run.series;
    request.first = result.values.first;
    request.count = result.values.count;
    request.variant = result.run.variant;
    request.limits = board.limits;
    return request;
}

/// Reports a series that was computed now or merged from result files.
ExitStatus write_report(SeriesResult result, const Board& board, const ToleranceOptions& options) {
    const SeriesRun& run = result.run;
    const auto log = make_logger(options.common);
    const std::size_t boards = result.values.count;
    const SpreadRequest request = request_of(result, board);
    Spread spread = timed(*log, "worst boards and shares of variance", [&] {
        return spread_from(board, request, result.nominal, result.effects, result.slopes,
                           std::move(result.values));
    });
    const auto centring = timed(*log, "values that centre the board", [&] {
        return find_centring(board, request, spread, {[](std::size_t) {}, Interruption::came});
    });
    const SpreadReport report{result.path,
                              result.board,
                              result.revision,
                              run.variant,
                              result.capsule,
                              result.temperature_range,
                              run.series,
                              run.first,
                              boards,
                              run.boards,
                              std::move(spread),
                              not_varied(with_variant(board, variant_named(board, run.variant))),
                              run.set,
                              centring};
    const auto write_table = [&] {
        if (options.common.quiet || options.json == "-" || options.plot == "-") return;
        write_output("-", tolerance_table(report, wants_color(options.common.color, stdout)));
    };
    const auto write_json = [&] {
        if (!options.json.empty()) write_output(options.json, tolerance_json(report));
    };
    const auto write_picture = [&] {
        if (options.plot.empty()) return;
        const std::string title = fmt::format(
            "{}, {} boards",
            assembly_title(report.board, report.revision, report.variant, report.capsule),
            report.boards);
        write_plot(options.plot, sheet_of(title, report.spread.response));
    };
    // The table comes first, in case the file cannot be written. After Ctrl-C the file comes first:
    // the reader of a pipe has been ended too, and writing to it ends this program.
    const bool files_first = Interruption::came();
    if (files_first) write_json();
    write_table();
    if (!files_first) write_json();
    write_picture();
    if (lacks_solution(result)) return no_solution;
    const double least_yield =
        options.least_yield.empty() ? 0 : share(options.least_yield, "--least-yield");
    return report.spread.yield.share < least_yield ? not_met : done;
}

/// One line instead of a report, which needs all shards.
ExitStatus write_shard(const SeriesResult& result, const ToleranceOptions& options) {
    const Stretch stretch = stretch_of(result.run, result.shard);
    const std::string partial =
        result.partial() ? fmt::format("PARTIAL: {} of ", result.values.count) : "";
    if (!options.common.quiet) {
        write_output("-", fmt::format("shard {} of {}: {}{} boards from board {}, written to {}\n",
                                      result.shard.number, result.shard.of, partial, stretch.count,
                                      stretch.first, options.result));
    }
    return lacks_solution(result) ? no_solution : done;
}

ExitStatus run_series(const ToleranceOptions& options) {
    if (options.result == "-") {
        throw UsageError("--result: the result is binary; accepted: a file name");
    }
    if (!options.shard.empty() && options.result.empty()) {
        throw UsageError("--shard: the result would be lost; add --result FILE");
    }
    bool unstable = false;
    Board board;
    SeriesResult result = compute(options, board, unstable);
    if (result.values.count == 0) {
        fmt::print(stderr,
                   "lowhiss: interrupted before the first board was finished; nothing written\n");
        return unusable;
    }
    if (!options.result.empty()) {
        write_pieces(options.result, [&](const Sink& sink) { write_result(result, sink); });
    }
    const bool alarm = unstable || !result.nominal.faults.empty();
    const ExitStatus status = options.shard.empty()
                                  ? write_report(std::move(result), board, options)
                                  : write_shard(result, options);
    return alarm ? std::max(status, not_met) : status;
}

}  // namespace

void add_tolerance(CLI::App& app, ToleranceOptions& options) {
    CLI::App* command = app.add_subcommand(
        "tolerance", "yield and spread of random boards, and the parts behind them");
    command->add_option("BOARD", options.board, "board file");
    CLI::Option* merge =
        command
            ->add_option("--merge", options.merge,
                         "report the result files of all shards of a run, in any order")
            ->type_name("FILE");
    const auto of_a_run = [&](CLI::Option* option) { return option->excludes(merge); };
    of_a_run(command->add_option("--variant", options.variant, "variant of the board"))
        ->type_name("NAME");
    for (CLI::Option* option : add_range(*command, options.range)) of_a_run(option);
    add_plot(*command, options.plot);
    add_series(*command, options.series);
    of_a_run(command->get_option("--seed"));
    of_a_run(command->get_option("--spread"));
    CLI::Option* shard =
        of_a_run(command->add_option("--shard", options.shard,
                                     "compute the K-th of N shares of the boards, as 2/8"))
            ->type_name("K/N");
    of_a_run(command->add_option("--result", options.result,
                                 "write the computed values to a file for --merge"))
        ->type_name("FILE");
    command
        ->add_option(
            "--least-yield", options.least_yield,
            "exit with status 1 if a smaller share of boards meets every limit, as 0.98 or 98%")
        ->type_name("SHARE")
        ->excludes(shard);
    command->add_option("--json", options.json, "write all figures as JSON; - is standard output")
        ->type_name("FILE")
        ->excludes(shard);
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_tolerance(const ToleranceOptions& options) {
    if (options.board.empty() == options.merge.empty()) {
        throw UsageError(options.board.empty() ? "BOARD is required, or --merge FILE..."
                                               : "--merge reads result files; leave BOARD out");
    }
    refuse_shared_output({options.json, options.plot});
    check_plot_name(options.plot);
    if (!options.least_yield.empty()) share(options.least_yield, "--least-yield");
    if (!options.merge.empty() && !options.common.set.empty()) {
        throw UsageError(
            "--set: the results include what was set when they were computed; leave it out");
    }
    if (!options.merge.empty()) {
        keep_apart({options.json, options.plot}, options.merge);
        SeriesResult whole = merge(options.merge);
        const Board board = board_of(whole);
        return write_report(std::move(whole), board, options);
    }
    const Interruption interruption;
    const ExitStatus status = run_series(options);
    Interruption::end_by_it();
    return status;
}

}  // namespace lowhiss::cli
