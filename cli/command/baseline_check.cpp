#include "command/baseline_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>

#include "shell/console.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

using Kind = FigureDrift::Kind;
using State = BaselineCheck::State;

bool has_trouble(const std::vector<FigureDrift>& drifts) {
    return std::any_of(drifts.begin(), drifts.end(),
                       [](const FigureDrift& d) { return d.kind == Kind::not_computed; });
}

/// Every figure as one that no baseline has.
std::vector<FigureDrift> all_new(const Board& board, const std::vector<Figure>& figures) {
    Diagnostics none;
    return drift_from(Baseline{}, figures, board, none);
}

std::string amount_text(double amount, const FigureDrift& drift) {
    if (std::isnan(amount)) return "by as much as there is";
    if (drift.allowed.relative) return fmt::format("{:.2f} %", 100 * amount);
    switch (drift.figure.figure->measure->unit) {
        case Unit::degree:
            return fmt::format("{:.2f} deg", amount);
        case Unit::fraction:
            return fmt::format("{:.2f} %", 100 * amount);
        default:
            return fmt::format("{:.2f} dB", amount);
    }
}

}  // namespace

bool in_ci() {
    const char* value = std::getenv("CI");
    const std::string_view text = value ? value : "";
    return !text.empty() && text != "false" && text != "0";
}

BaselineCheck compare_with_baseline(const Board& board, const std::vector<Figure>& figures,
                                    const CheckOptions& options) {
    BaselineCheck result;
    if (options.limits_only) return result;
    result.strict = in_ci() && !options.record;
    result.path = baseline_path(board.path);
    std::error_code error;
    if (!std::filesystem::exists(std::filesystem::symlink_status(result.path, error))) {
        result.state = State::none;
        result.drifts = all_new(board, figures);
        return result;
    }
    Diagnostics diagnostics;
    const auto baseline = read_baseline(result.path, disk_reader(), diagnostics);
    if (baseline) {
        result.drifts = drift_from(*baseline, figures, board, diagnostics);
        result.changes = board_changes(baseline->lines, board_lines(board));
        result.board = baseline->board;
        result.revision = baseline->revision;
    }
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    for (const Diagnostic& d : diagnostics) result.trouble += to_text(d);
    result.state = result.trouble.empty() ? State::compared : State::unusable;
    return result;
}

void record(const Board& board, const std::vector<Figure>& figures, BaselineCheck& baseline) {
    if (baseline.state == State::unusable || has_trouble(baseline.drifts)) return;
    const std::string text = baseline_text(board, figures, LOWHISS_VERSION);
    const auto present = disk_reader()(baseline.path);
    const std::string* before = std::get_if<std::string>(&present);
    baseline.state = before && *before == text ? State::unchanged : State::recorded;
    if (baseline.state == State::unchanged) return;
    try {
        write_output(baseline.path, text);
    } catch (const UsageError& error) {
        baseline.state = State::unusable;
        baseline.trouble = fmt::format("{}\n", error.what());
        fmt::print(stderr, "lowhiss: error: {}\n", error.what());
    }
}

bool fails(const FigureDrift& drift, const BaselineCheck& baseline) {
    if (baseline.state == State::recorded || baseline.state == State::unchanged) return false;
    switch (drift.kind) {
        case Kind::still:
            return false;
        case Kind::missing:
        case Kind::obsolete:
            return baseline.strict;
        case Kind::moved:
        case Kind::not_computed:
            return true;
    }
    return true;
}

ExitStatus status_of(const BaselineCheck& baseline) {
    if (baseline.state == State::unusable) return unusable;
    if (has_trouble(baseline.drifts)) return no_solution;
    const bool failed =
        std::any_of(baseline.drifts.begin(), baseline.drifts.end(),
                    [&](const FigureDrift& drift) { return fails(drift, baseline); });
    return failed ? not_met : done;
}

std::string drift_name(const FigureDrift& drift) {
    if (!drift.figure.figure) return drift.key;
    return fmt::format("{}: {}", drift.figure.figure->name,
                       place_text(drift.figure.variant, drift.figure.capsule, drift.figure.knob));
}

std::string drift_text(const FigureDrift& drift) {
    switch (drift.kind) {
        case Kind::still:
            return fmt::format("{}, was {}", drift.after, drift.before);
        case Kind::moved:
            return fmt::format("{}, was {}; moved {}, allowed {}", drift.after, drift.before,
                               amount_text(drift.moved_by, drift),
                               amount_text(drift.allowed.size, drift));
        case Kind::missing:
            return fmt::format("{}, not in the baseline", drift.after);
        case Kind::obsolete:
            return fmt::format("was {}; the board has no such figure now", drift.before);
        case Kind::not_computed:
            return drift.figure.trouble;
    }
    return "";
}

}  // namespace lowhiss::cli
