#pragma once

#include "shell/console.hpp"
#include "shell/exit_status.hpp"
#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// Whether CI is set, and neither "false" nor "0".
bool in_ci();

/// Which unusable baselines are written over.
enum class Overwrite {
    nothing,    ///< it is reported
    conflicts,  ///< one with a merge conflict counts as none, if the ordered files are known
    all,        ///< any counts as none
};

/// Compares the figures with the baseline beside the board. `strict` as in BaselineCheck;
/// `names_ordered`: the files that the board is ordered by are named anew, so that those that an
/// unusable baseline notes are not needed.
BaselineCheck compare_with_baseline(const Board& board, const std::vector<Figure>& figures,
                                    bool strict, Overwrite overwrite, bool names_ordered,
                                    const CommonOptions& options);

/// Writes the baseline, unless the file is the same already or unusable, or a figure could not be
/// computed. A file that cannot be written becomes the trouble of `baseline`.
void record(const Board& board, const std::vector<Figure>& figures, BaselineCheck& baseline);

/// The files with the SHA-256 of their contents, their paths relative to the board's folder. Throws
/// UsageError for one that cannot be read.
std::vector<OrderedFile> ordered_files(const Board& board, const std::vector<std::string>& paths);

ExitStatus status_of(const BaselineCheck& baseline);

}  // namespace lowhiss::cli
