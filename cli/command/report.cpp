#include "command/report.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>

#include "command/choose.hpp"
#include "draw/gnuplot.hpp"
#include "draw/report_html.hpp"
#include "lowhiss/board/board_lines.hpp"
#include "lowhiss/sweep/peak_grid.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/output.hpp"
#include "write/run_tables.hpp"
#include "write/sweep_summary.hpp"
#include "write/sweep_text.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

/// 20 points a decade: smooth curves in a small page.
std::vector<double> page_grid_hz() {
    std::vector<double> grid;
    for (int k = 0; k <= 86; ++k) grid.push_back(10 * std::pow(10.0, k / 20.0));
    return grid;
}

/// Every second point of the page's own grid and all that were added for peaks: enough for a static
/// picture.
Chart thinned(Chart chart) {
    const std::vector<double> own = page_grid_hz();
    std::vector<std::size_t> kept;
    for (std::size_t k = 0; k < chart.frequency_hz.size(); ++k) {
        const auto at = std::lower_bound(own.begin(), own.end(), chart.frequency_hz[k]);
        const bool added = at == own.end() || *at != chart.frequency_hz[k];
        if (added || (at - own.begin()) % 2 == 0) kept.push_back(k);
    }
    const auto thin = [&](std::vector<double>& values) {
        if (values.empty()) return;
        for (std::size_t k = 0; k < kept.size(); ++k) values[k] = values[kept[k]];
        values.resize(kept.size());
    };
    thin(chart.frequency_hz);
    for (Curve& curve : chart.curves) {
        thin(curve.y);
        thin(curve.low);
    }
    return chart;
}

std::vector<Verdict> worst_first(std::vector<Verdict> verdicts) {
    const auto rank = [](const Verdict& v) {
        const int kind = v.outcome == Outcome::fail ? 0 : is_good(v) ? 2 : 1;
        return std::pair(kind, std::isnan(v.margin_db) ? 0 : v.margin_db);
    };
    std::stable_sort(verdicts.begin(), verdicts.end(),
                     [&](const Verdict& a, const Verdict& b) { return rank(a) < rank(b); });
    return verdicts;
}

/// Draws each chart by gnuplot; warns once if gnuplot is missing.
class Pictures {
  public:
    explicit Pictures(spdlog::logger& log) : log_(log) {}

    /// Pictures of the first `most` charts, to keep the page small.
    std::vector<std::string> of(const ChartSheet& sheet, std::size_t most) {
        std::vector<std::string> pictures;
        for (const Chart& chart : sheet.charts) {
            if (!there || pictures.size() == most) break;
            try {
                pictures.push_back(plot_svg({"", {thinned(chart)}}));
            } catch (const UsageError& error) {
                there = false;
                log_.warn("the page has no static pictures: {}", error.what());
            }
        }
        return there ? pictures : std::vector<std::string>{};
    }

    bool there = true;

  private:
    spdlog::logger& log_;
};

/// The plain board with each capsule, at the knob position of most gain.
ReportedAssembly capsules_compared(const Sweep& whole, Pictures& pictures) {
    Sweep plain = whole;
    std::erase_if(plain.runs, [](const SweepRun& run) { return !run.variant.empty(); });
    std::vector<std::pair<std::string, const SweepRun*>> runs;
    for (const SweepRun& run : plain.runs) runs.emplace_back(run.capsule, &run);
    ReportedAssembly result;
    result.sheet = sheet_at_most_gain("capsules compared", whole.frequency_hz, runs);
    result.title = result.sheet.title;
    result.pictures = pictures.of(result.sheet, result.sheet.charts.size());
    result.tables = capsule_comparison(plain, false);
    return result;
}

/// One run, with the limits on gain in its response. Only the first has a picture of every chart.
ReportedAssembly reported(const Sweep& whole, const SweepRun& run, const std::vector<Limit>& limits,
                          Pictures& pictures) {
    ReportedAssembly result;
    result.title = run.variant.empty() ? "plain" : "variant " + run.variant;
    result.sheet = sheet_of(whole, run);
    add_bounds(limits, run.variant, result.sheet.charts.front());
    const bool first = &run == &whole.runs.front();
    result.pictures = pictures.of(result.sheet, first ? result.sheet.charts.size() : 1);
    result.alarms = sweep_alarms(run);
    result.summary = sweep_verdict(run);
    if (distorts(run)) result.distortion = distortion_table(run);
    Sweep alone = whole;
    alone.runs = {run};
    result.tables = sweep_text(alone, std::nullopt, {.all = true, .names = {}}, false);
    return result;
}

ReportedBoard reported(const Board& board, Pictures& pictures, spdlog::logger& log,
                       const ReportOptions& asked) {
    ReportedBoard result;
    result.name = board.name;
    result.revision = board.revision;
    result.path = board.path;
    result.parts = board_lines(board);
    CheckRequest check{&board, board.limits};
    check.stability = true;
    result.verdicts = worst_first(check_board(check).verdicts);
    SweepRequest request;
    request.frequency_hz = page_grid_hz();
    request.variants = variant_names(board, {"all"});
    request.capsules = asked.capsules;
    request.source = true;
    request.distortion = true;
    request.frequency_hz =
        timed(log, "peaks of " + board.path, [&] { return grid_with_peaks(board, request); });
    const Sweep whole = timed(log, "sweep of " + board.path, [&] { return sweep(board, request); });
    for (const SweepRun& run : whole.runs) {
        result.assemblies.push_back(reported(whole, run, check.limits, pictures));
        if (!asked.capsules.empty()) result.assemblies.back().title += ", capsule " + run.capsule;
    }
    if (asked.capsules.size() > 1) {
        result.assemblies.insert(result.assemblies.begin(), capsules_compared(whole, pictures));
    }
    return result;
}

void require_any_choose(const std::vector<Board>& boards) {
    bool any = false;
    for (const Board& board : boards) {
        if (board.choose) check_choosable(board);
        any = any || board.choose;
    }
    if (any) return;
    throw UsageError(
        "--choose: no board has a [choose]; accepted: a board with [choose] that says which values "
        "are open");
}

}  // namespace

void add_report(CLI::App& app, ReportOptions& options) {
    CLI::App* command = app.add_subcommand("report", "one self-contained HTML page");
    command->add_option("BOARD", options.boards, "the board files")->required();
    command->add_option("--capsule", options.capsules, "compare these capsules; repeat for more")
        ->type_name("NAME")
        ->allow_extra_args(false);
    command
        ->add_option("--sound", options.sounds,
                     "a sound to embed, as lowhiss listen writes it (WAV; also FLAC, Ogg, MP3); "
                     "repeat for more")
        ->type_name("SOUND")
        ->allow_extra_args(false);
    command->add_option("--output", options.output, "the page; - is standard output")
        ->required()
        ->type_name("FILE.html");
    command
        ->add_option(
            "--ordered", options.ordered,
            "a file that the board is ordered by, as lowhiss match takes it: the page says "
            "whether they agree; repeat for more")
        ->type_name("INPUT")
        ->allow_extra_args(false);
    add_materials_reading(*command, options.reading);
    command->add_flag("--choose", options.choose,
                      "search the best values of each board with [choose], as lowhiss choose does: "
                      "up to a million sets of values are computed");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_report(const ReportOptions& options) {
    if (!options.ordered.empty() && options.boards.size() > 1) {
        throw UsageError(fmt::format(
            "--ordered: {} boards are given, and it is not known which of them the file is for; "
            "accepted: one board, with --ordered FILE for each of its files",
            options.boards.size()));
    }
    const OrderedFiles ordered_files{options.ordered, {}, materials_options(options.reading)};
    const auto log = make_logger(options.common);
    Pictures pictures(*log);
    std::vector<ReportedBoard> boards;
    std::vector<Board> read;
    read.reserve(options.boards.size());
    for (const std::string& path : options.boards) read.push_back(load(path, options.common));
    std::vector<EmbeddedSound> sounds;
    for (const std::string& path : options.sounds) {
        sounds.push_back(embedded_sound(path, *options.common.files));
    }
    std::optional<Ordered> ordered;
    if (!options.ordered.empty()) {
        Diagnostics diagnostics;
        ordered = read_ordered(ordered_files, logging(disk_reader(), log, options.common.files),
                               diagnostics);
        print_diagnostics(diagnostics, options.common.quiet, options.common.color);
        if (!ordered) return unusable;
    }
    keep_apart({options.output}, *options.common.files);
    if (options.choose) require_any_choose(read);
    for (const Board& board : read) {
        boards.push_back(reported(board, pictures, *log, options));
        if (ordered) boards.back().match = match_ordered(board, *ordered);
        if (options.choose && board.choose) {
            const ChooseReport found = chosen_values(board, {}, options.common.quiet, *log);
            boards.back().choose_title = "Values to choose: " + aim_text(*board.choose);
            boards.back().choose = choose_table(found, false);
        }
        if (boards.size() == 1) continue;
        const Board& before = read[boards.size() - 2];
        boards.back().changed_from = board_title(before.name, before.revision);
        boards.back().changes = board_changes(board_lines(before), boards.back().parts);
    }
    write_output(options.output, report_html(boards, sounds, pictures.there));
    return done;
}

}  // namespace lowhiss::cli
