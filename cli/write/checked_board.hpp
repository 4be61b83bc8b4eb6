#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board_diff.hpp"
#include "lowhiss/promise/baseline.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/promise/drift.hpp"

namespace lowhiss::cli {

/// A file that is not what the board was ordered by, and why: "has changed since ...".
struct OrderedChange {
    std::string path;
    std::string what;
};

/// A board against its baseline.
struct BaselineCheck {
    enum class State {
        aside,      ///< not asked for
        none,       ///< never recorded
        unusable,   ///< the file cannot be read, or not be written
        compared,   ///< compared with the recorded figures
        recorded,   ///< written now
        unchanged,  ///< not written, as the file already has these figures
    };
    State state = State::aside;
    bool strict = false;  ///< in CI: a figure that only the board or only the baseline has fails
    std::string path;
    std::string board;                 ///< name of the board that was recorded
    std::string revision;              ///< its revision
    std::vector<FigureDrift> drifts;   ///< of every figure
    std::vector<BoardChange> changes;  ///< of the board since it was recorded
    std::string trouble;               ///< the diagnostics of an unusable file
    std::vector<OrderedFile> ordered;  ///< the files that the board was ordered by, as recorded
    std::vector<OrderedChange> ordered_changes;  ///< what differs from them now
    bool conflict = false;                       ///< the file has an unresolved merge conflict
    bool replaces = false;  ///< what is recorded replaces a file that was unusable
    bool loses_ordered =
        false;  ///< the file is unusable, and which ordered files it notes not known
};

/// One board with its verdicts, or the reason why there are none.
struct CheckedBoard {
    std::string path;
    std::string name;
    std::string revision;
    std::vector<Verdict> verdicts;
    BaselineCheck baseline;
    std::string trouble;             ///< the diagnostics of a board that could not be read
    std::vector<std::string> set{};  ///< what was altered for this run
};

/// Whether this figure alone makes the check fail.
bool fails(const FigureDrift& drift, const BaselineCheck& baseline);

/// "ein: plain, dynamic-200, knob 100 %"
std::string drift_name(const FigureDrift& drift);
/// "53.1 dB, was 52.4 dB; changed by 0.70 dB, allowed 0.05 dB"
std::string drift_text(const FigureDrift& drift);

}  // namespace lowhiss::cli
