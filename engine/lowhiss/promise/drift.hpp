#pragma once

#include <string>

#include "lowhiss/promise/baseline.hpp"

namespace lowhiss {

/// One figure compared with its baseline.
struct FigureDrift {
    enum class Kind {
        still,         ///< within its allowance
        moved,         ///< by more than its allowance
        missing,       ///< not in the baseline
        obsolete,      ///< in the baseline, but not of the board any more
        not_computed,  ///< `figure.trouble` says why
    };
    Kind kind = Kind::still;
    std::string key;      ///< as in the baseline
    Figure figure;        ///< as it is now; empty for an obsolete one
    std::string before;   ///< as recorded; empty if it was not
    std::string after;    ///< as it would be recorded
    double moved_by = 0;  ///< in the unit or as a fraction, as `allowed` is; NaN from or to "none"
    Drift allowed{};
};

/// The figures in their order, then those that only the baseline has. A recorded text that is no
/// value of its measure is reported to `out`.
std::vector<FigureDrift> drift_from(const Baseline& baseline, std::span<const Figure> figures,
                                    const Board& board, Diagnostics& out);

}  // namespace lowhiss
