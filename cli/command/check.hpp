#pragma once

#include "command/options.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/promise/drift.hpp"

namespace lowhiss::cli {

struct CheckOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::string json;
    std::string junit;
    std::string plot;
    bool record = false;
    bool force = false;
    bool limits_only = false;
};

/// What came of a board's baseline: a surprise, where a missed limit is a broken promise.
struct BaselineCheck {
    enum class State {
        aside,      ///< not asked for
        none,       ///< never recorded
        unusable,   ///< the file cannot be used, or not be written
        compared,   ///< with what was recorded
        recorded,   ///< written now
        unchanged,  ///< nothing to write: the file says so already
    };
    State state = State::aside;
    bool strict = false;  ///< in CI: what the baseline lacks or has too much fails as well
    std::string path;
    std::string board;                 ///< whose name was recorded
    std::string revision;              ///< that was recorded
    std::vector<FigureDrift> drifts;   ///< of every figure
    std::vector<BoardChange> changes;  ///< of the board since
    std::string trouble;               ///< the diagnostics of an unusable file
};

/// What came of one board: verdicts, or why there are none.
struct CheckedBoard {
    std::string path;
    std::string name;
    std::string revision;
    std::vector<Verdict> verdicts;
    BaselineCheck baseline;
    std::string trouble;  ///< the diagnostics of a board that could not be read
    ExitStatus status = done;
};

void add_check(CLI::App& app, CheckOptions& options);
ExitStatus run_check(const CheckOptions& options);

// The writers of a check; each returns the whole text.
std::string check_table(const std::vector<CheckedBoard>& boards, bool bold);
std::string check_json(const std::vector<CheckedBoard>& boards);
std::string check_junit(const std::vector<CheckedBoard>& boards);

/// "condenser, condenser-60p, knob 100 %": where a verdict or a figure was taken.
std::string place_text(const std::string& variant, const std::string& capsule, double knob);

/// A figure in its unit, rounded for people; a dash where there is none.
std::string figure_text(double value, Unit unit);

/// What two figures of a unit differ by: levels differ by decibels.
Unit difference_unit(Unit unit);

}  // namespace lowhiss::cli
