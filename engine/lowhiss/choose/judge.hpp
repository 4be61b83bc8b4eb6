#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <vector>

#include "lowhiss/choose/value_set.hpp"
#include "lowhiss/promise/check.hpp"

namespace lowhiss {

/// How good a set of values is.
struct Score {
    /// The sum of the dB by which limits are missed; 0: all are met. A limit that cannot be
    /// computed counts as missed by a thousand, and so does each of the slow ones if a fast one is
    /// missed.
    double missed_db = 0;
    double key = 0;  ///< of sets that meet the limits: less is better
};

/// Whether the first is better.
bool operator<(const Score& a, const Score& b);

/// Judges sets of values by a board's limits and the aim of its [choose]. May be used by several
/// threads at a time; the scores do not depend on it.
class Judge {
  public:
    explicit Judge(const Board& board);

    /// Limits whose figures need a few solutions only are judged first; the others, which need a
    /// search, only if those are met. `met` receives for each limit of the board 1 if it is met at
    /// all of its places, 0 if not, and -1 if that was not computed.
    Score score(const ValueSet& values, std::vector<int>* met = nullptr) const;

    /// The verdicts on all limits, the aim's figure, stability, supply, and figures that models
    /// leave out.
    struct Verdicts {
        std::vector<Verdict> limits;  ///< and faults besides
        Verdict figure;               ///< the worst place of the aim's figure; not of `centred`
        double room = unset;          ///< of `centred`: see room_of
        bool good() const;
    };
    Verdicts verdicts(const Board& board) const;

    const Choose& choose() const { return *board_.choose; }
    const Board& board() const { return board_; }

  private:
    std::shared_ptr<const PlanShelf> plans_for_structure(const ValueSet& values) const;
    double key_of(const std::vector<Verdict>& limits, const Verdict& figure) const;

    const Board& board_;
    std::vector<Limit> fast_;
    std::vector<Limit> slow_;
    mutable std::mutex planning_;
    mutable std::map<ValueSet, std::shared_ptr<const PlanShelf>> plans_;
};

/// The least margin of the verdicts with two bounds, as a share of half their distance: 1 is the
/// middle, 0 a bound. Unset without such a verdict.
double room_of(const std::vector<Verdict>& verdicts);

}  // namespace lowhiss
