#pragma once

#include <string>

#include "lowhiss/promise/baseline.hpp"

namespace lowhiss {

/// One figure against its baseline: a surprise, where a missed limit is a broken promise.
struct FigureDrift {
    enum class Kind {
        still,         ///< within its allowance
        moved,         ///< by more than its allowance
        missing,       ///< the baseline does not have it
        obsolete,      ///< the baseline has it and the board does not
        not_computed,  ///< it has no value now, for a reason
    };
    Kind kind = Kind::still;
    std::string key;      ///< as in the baseline
    Figure figure;        ///< as it is now; of an obsolete one nothing
    std::string before;   ///< as recorded; empty where it was not
    std::string after;    ///< as it would be recorded
    double moved_by = 0;  ///< in the unit, or as a part of the figure; unset where there is no such
    Drift allowed{};
};

/// Every figure of now, in its order, then what the baseline has beyond them. A recorded text that
/// is no value of the measure is reported to `out`.
std::vector<FigureDrift> drift_from(const Baseline& baseline, std::span<const Figure> figures,
                                    const Board& board, Diagnostics& out);

}  // namespace lowhiss
