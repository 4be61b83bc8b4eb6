#include "command/check.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "command/baseline_check.hpp"
#include "draw/chart.hpp"
#include "draw/gnuplot.hpp"
#include "lowhiss/sweep/peak_grid.hpp"
#include "lowhiss/sweep/sweep.hpp"
#include "lowhiss/topology/check.hpp"
#include "shell/log.hpp"
#include "write/check_json.hpp"
#include "write/check_junit.hpp"
#include "write/check_markdown.hpp"
#include "write/check_table.hpp"
#include "write/figure_text.hpp"
#include "write/output.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

ExitStatus status_of(const std::vector<Verdict>& verdicts) {
    const auto any = [&](Outcome outcome) {
        return std::any_of(verdicts.begin(), verdicts.end(),
                           [&](const Verdict& v) { return v.outcome == outcome; });
    };
    if (any(Outcome::not_computed)) return no_solution;
    return any(Outcome::fail) || any(Outcome::not_known) ? not_met : done;
}

/// For the reports, which need not repeat a hundred mistakes.
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

/// A board file with all that follows from it.
struct Job {
    std::optional<Board> board;  ///< none if it could not be read
    CheckedBoard checked;
    ExitStatus status = done;
};

Job read(const std::string& path, const FileReader& reader, const CommonOptions& options) {
    BoardReading board = read_board(path, reader, options.set);
    Job job{std::move(board.board), {path, path, "", {}, {}, "", options.set}};
    if (job.board) {
        job.checked.name = job.board->name;
        job.checked.revision = job.board->revision;
    }
    print_diagnostics(board.diagnostics, options.quiet, options.color);
    if (has_errors(board.diagnostics)) {
        job.checked.trouble = first_errors(board.diagnostics);
        job.status = unusable;
        job.board.reset();
    }
    return job;
}

void check_baseline(Job& job, const std::vector<Figure>& figures, const CheckOptions& options) {
    const Overwrite overwrite = !options.record ? Overwrite::nothing
                                : options.force ? Overwrite::all
                                                : Overwrite::conflicts;
    job.checked.baseline =
        compare_with_baseline(*job.board, figures, in_ci() && !options.record, overwrite,
                              !options.ordered.empty(), options.common);
    if (!options.record) return;
    if (!options.ordered.empty()) {
        job.checked.baseline.ordered = ordered_files(*job.board, options.ordered);
        job.checked.baseline.ordered_changes.clear();
    }
    record(*job.board, figures, job.checked.baseline);
}

/// Warnings about the netlist of a board, in any variant; its errors are reasons of the verdicts.
Diagnostics netlist_warnings(const Board& board) {
    std::vector<double> rotations{0};
    if (board.knob) rotations = {board.knob->positions.front(), board.knob->positions.back()};
    std::set<std::string> known;
    Diagnostics warnings;
    for (const std::string& name : variant_names(board, {"all"})) {
        const Board assembled = with_variant(board, find_variant(board, name));
        const Capsule* capsule = capsule_named(board, assembled.input.capsule);
        for (Diagnostic& d : check_assembly(assembled, capsule, rotations)) {
            if (d.severity == Severity::error || !known.insert(to_text(d)).second) continue;
            warnings.push_back(std::move(d));
        }
    }
    return warnings;
}

/// Checks every board that could be read.
void check_all(std::vector<Job>& jobs, const CheckOptions& options, spdlog::logger& log) {
    std::vector<CheckRequest> requests;
    std::vector<Job*> readable;
    for (Job& job : jobs) {
        if (!job.board) continue;
        requests.push_back({&*job.board, job.board->limits, !options.limits_only});
        requests.back().stability = true;
        readable.push_back(&job);
        print_diagnostics(netlist_warnings(*job.board), options.common.quiet, options.common.color);
    }
    std::vector<BoardCheck> results =
        timed(log, "limits and figures of all boards", [&] { return check_boards(requests); });
    for (std::size_t k = 0; k < results.size(); ++k) {
        Job& job = *readable[k];
        log.debug("{}: {} limit checks, {} figures", job.checked.path, results[k].verdicts.size(),
                  results[k].figures.size());
        log_solutions(results[k].account, job.checked.path, log);
        job.checked.verdicts = std::move(results[k].verdicts);
        if (!options.limits_only) check_baseline(job, results[k].figures, options);
        job.status = std::max(status_of(job.checked.verdicts), status_of(job.checked.baseline));
    }
}

/// The gain of every assembly with its limits.
ChartSheet sheet_with_limits(const Board& board) {
    SweepRequest request;
    request.frequency_hz = plot_grid_hz();
    request.rolloff = request.behaviour = false;
    request.variants = variant_names(board, {"all"});
    request.frequency_hz = grid_with_peaks(board, request);
    const Sweep result = sweep(board, request);
    ChartSheet sheet{board_title(board.name, board.revision), {}};
    for (const SweepRun& run : result.runs) {
        Chart gain = sheet_of(result, run).charts.front();
        gain.title = place_text(run.variant, run.capsule, unset);
        add_bounds(board.limits, run.variant, gain);
        sheet.charts.push_back(std::move(gain));
    }
    return sheet;
}

void refuse_contradictions(const CheckOptions& options) {
    refuse_shared_output({options.json, options.junit, options.summary, options.plot});
    check_plot_name(options.plot);
    if (!options.plot.empty() && options.boards.size() > 1) {
        throw UsageError("--plot takes one board; check the others without --plot");
    }
    if (options.record && !options.common.set.empty()) {
        throw UsageError(
            "--record and --set exclude each other: a baseline is of the board in the file");
    }
    if (options.record && options.limits_only) {
        throw UsageError("--record and --limits-only exclude each other; leave one out");
    }
    if (!options.ordered.empty() && !options.record) {
        throw UsageError("--ordered goes with --record; a check without it reads the baseline");
    }
    if (!options.ordered.empty() && options.boards.size() > 1) {
        throw UsageError(fmt::format(
            "--ordered: {} boards are given, and it is not known which of them the file is for; "
            "accepted: one board, with --ordered FILE for each of its files",
            options.boards.size()));
    }
    if (options.record && in_ci() && !options.force) {
        throw UsageError(
            "--record: CI is set: baseline not updated; record it locally and commit the file, or "
            "add --force");
    }
}

/// No output and no recorded baseline may replace a file that was read, and two different board
/// files may not record into one baseline.
void protect_files(const CheckOptions& options) {
    std::vector<std::string> inputs = *options.common.files;
    if (!options.limits_only) {
        std::map<std::string, std::string> boards;  // by baseline
        for (const std::string& board : options.boards) {
            const std::string baseline = baseline_path(board);
            const std::string& other = boards.emplace(file_identity(baseline), board).first->second;
            if (file_identity(board) != file_identity(other)) {
                throw UsageError(fmt::format(
                    "'{}' and '{}' share the baseline '{}'; accepted: board files whose "
                    "names differ in more than .toml, or --limits-only",
                    other, board, baseline));
            }
            if (options.record) keep_apart({baseline}, *options.common.files);
            inputs.push_back(baseline);
        }
    }
    keep_apart({options.json, options.junit, options.summary, options.plot}, inputs);
}

}  // namespace

void add_check(CLI::App& app, CheckOptions& options) {
    CLI::App* command = app.add_subcommand(
        "check",
        "check limits and baseline in every variant at every knob position; exits 1 on failure");
    command->add_option("BOARD", options.boards, "board files")->required();
    command->add_option("--json", options.json, "write every verdict as JSON; - is standard output")
        ->type_name("FILE");
    command
        ->add_option("--junit", options.junit,
                     "write JUnit XML for CI, one test case per limit and figure")
        ->type_name("FILE");
    command
        ->add_option("--summary", options.summary,
                     "write a table in Markdown for a pull request: what passes, what moved, which "
                     "parts changed")
        ->type_name("FILE");
    add_plot(*command, options.plot);
    command->add_flag(
        "--record", options.record,
        "accept the present figures: write each board's baseline, also over one with a merge "
        "conflict, and list the changes");
    command->add_flag("--force", options.force,
                      "allow --record although CI is set, and over a baseline that is unusable");
    command
        ->add_option(
            "--ordered", options.ordered,
            "with --record: note the SHA-256 of a file that the board is ordered by; check "
            "fails once it changes; repeat for more")
        ->type_name("INPUT")
        ->allow_extra_args(false);
    command->add_flag("--limits-only", options.limits_only, "ignore baselines");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_check(const CheckOptions& options) {
    refuse_contradictions(options);
    const auto log = make_logger(options.common);
    const FileReader reader = logging(disk_reader(), log, options.common.files);
    std::vector<Job> jobs;
    for (const std::string& path : options.boards) {
        jobs.push_back(read(path, reader, options.common));
    }
    protect_files(options);
    check_all(jobs, options, *log);
    std::vector<CheckedBoard> boards;
    ExitStatus worst = done;
    for (Job& job : jobs) {
        worst = std::max(worst, job.status);
        boards.push_back(std::move(job.checked));
    }
    const Job& first = jobs.front();
    // The table comes first: it must be seen even if a file cannot be written.
    const bool output_taken = options.json == "-" || options.junit == "-" ||
                              options.summary == "-" || options.plot == "-";
    if (output_taken) {
        fmt::print(stderr, "{}", check_failures(boards, wants_color(options.common.color, stderr)));
    } else {
        const bool bold = wants_color(options.common.color, stdout);
        write_output(
            "-", options.common.quiet ? check_failures(boards, bold) : check_table(boards, bold));
    }
    if (!options.json.empty()) write_output(options.json, check_json(boards));
    if (!options.junit.empty()) write_output(options.junit, check_junit(boards));
    if (!options.summary.empty()) write_output(options.summary, check_markdown(boards));
    if (!options.plot.empty() && first.board) {
        write_plot(options.plot, sheet_with_limits(*first.board));
    }
    return worst;
}

}  // namespace lowhiss::cli
