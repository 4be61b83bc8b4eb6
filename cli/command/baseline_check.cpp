#include "command/baseline_check.hpp"

#include <fmt/format.h>

#include <sha2.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdlib>
#include <filesystem>

#include "lowhiss/text/open.hpp"
#include "shell/names.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

using Kind = FigureDrift::Kind;
using State = BaselineCheck::State;

bool has_trouble(const std::vector<FigureDrift>& drifts) {
    return std::any_of(drifts.begin(), drifts.end(),
                       [](const FigureDrift& d) { return d.kind == Kind::not_computed; });
}

/// A drift for every figure, as missing from the baseline.
std::vector<FigureDrift> all_new(const Board& board, const std::vector<Figure>& figures) {
    Diagnostics none;
    return drift_from(Baseline{}, figures, board, none);
}

bool has_conflict(const Diagnostics& diagnostics) {
    return std::any_of(diagnostics.begin(), diagnostics.end(),
                       [](const Diagnostic& d) { return d.code == "merge-conflict"; });
}

std::string sha256_of(const std::string& content) {
    std::array<char, SHA256_DIGEST_STRING_LENGTH> text{};
    ::SHA256Data(reinterpret_cast<const std::uint8_t*>(content.data()), content.size(),
                 text.data());
    return text.data();
}

std::vector<OrderedChange> changed_files(const std::string& baseline,
                                         const std::vector<OrderedFile>& files) {
    std::vector<OrderedChange> changes;
    for (const OrderedFile& file : files) {
        const auto content = disk_reader()(path_beside(baseline, file.path));
        const std::string* text = std::get_if<std::string>(&content);
        if (!text) {
            const std::string& reason = std::get<Unreadable>(content).reason;
            changes.push_back({file.path, "cannot be read: " + reason});
        } else if (sha256_of(*text) != file.sha256) {
            changes.push_back({file.path, "has changed since the baseline was recorded"});
        }
    }
    return changes;
}

bool can_replace(const BaselineCheck& baseline, Overwrite overwrite) {
    return overwrite == Overwrite::all ||
           (overwrite == Overwrite::conflicts && baseline.conflict && !baseline.loses_ordered);
}

/// Keeps the ordered files of an unusable baseline, or notes that they would be lost.
void keep_ordered(BaselineCheck& baseline) {
    const auto content = disk_reader()(baseline.path);
    const std::string* text = std::get_if<std::string>(&content);
    if (!text) return;
    auto ordered = ordered_in_unusable(*text);
    baseline.loses_ordered = !ordered;
    if (!ordered) return;
    baseline.ordered = *std::move(ordered);
    baseline.ordered_changes = changed_files(baseline.path, baseline.ordered);
}

}  // namespace

bool in_ci() {
    const char* value = std::getenv("CI");
    const std::string_view text = value ? value : "";
    return !text.empty() && text != "false" && text != "0";
}

BaselineCheck compare_with_baseline(const Board& board, const std::vector<Figure>& figures,
                                    bool strict, Overwrite overwrite, bool names_ordered,
                                    const CommonOptions& options) {
    BaselineCheck result;
    result.strict = strict;
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
        result.ordered = baseline->ordered;
        result.ordered_changes = changed_files(result.path, baseline->ordered);
    }
    result.state = diagnostics.empty() ? State::compared : State::unusable;
    result.conflict = has_conflict(diagnostics);
    if (!baseline && !names_ordered) keep_ordered(result);
    if (result.state == State::unusable && can_replace(result, overwrite)) {
        if (result.loses_ordered) {
            fmt::print(stderr,
                       "lowhiss: warning: the ordered files that '{}' noted are lost, and check no "
                       "longer looks at them; to note them again: --record --ordered FILE\n",
                       for_terminal(result.path));
        }
        result.state = State::none;
        result.replaces = true;
        result.drifts = all_new(board, figures);
        result.changes.clear();
        return result;
    }
    print_diagnostics(diagnostics, options.quiet, options.color);
    for (const Diagnostic& d : diagnostics) result.trouble += to_text(d);
    return result;
}

void record(const Board& board, const std::vector<Figure>& figures, BaselineCheck& baseline) {
    if (baseline.state == State::unusable || has_trouble(baseline.drifts)) return;
    const std::string text = baseline_text(board, figures, LOWHISS_VERSION, baseline.ordered);
    const auto present = disk_reader()(baseline.path);
    const std::string* before = std::get_if<std::string>(&present);
    baseline.state = before && *before == text ? State::unchanged : State::recorded;
    if (baseline.state == State::unchanged) return;
    try {
        write_output(baseline.path, text);
    } catch (const UsageError& error) {
        baseline.state = State::unusable;
        baseline.trouble = fmt::format("{}\n", error.what());
        fmt::print(stderr, "lowhiss: error: {}\n", for_terminal(error.what()));
    }
}

std::vector<OrderedFile> ordered_files(const Board& board, const std::vector<std::string>& paths) {
    std::vector<OrderedFile> files;
    const auto folder = std::filesystem::absolute(board.path).parent_path();
    for (const std::string& path : paths) {
        const auto content = disk_reader()(path);
        if (const auto* unreadable = std::get_if<Unreadable>(&content)) {
            throw UsageError(
                fmt::format("--ordered: '{}' cannot be read: {}", path, unreadable->reason));
        }
        const auto relative = std::filesystem::absolute(path).lexically_relative(folder);
        files.push_back({relative.string(), sha256_of(std::get<std::string>(content))});
    }
    return files;
}

ExitStatus status_of(const BaselineCheck& baseline) {
    if (baseline.state == State::unusable) return unusable;
    if (has_trouble(baseline.drifts)) return no_solution;
    if (!baseline.ordered_changes.empty()) return not_met;
    const bool failed =
        std::any_of(baseline.drifts.begin(), baseline.drifts.end(),
                    [&](const FigureDrift& drift) { return fails(drift, baseline); });
    return failed ? not_met : done;
}

}  // namespace lowhiss::cli
