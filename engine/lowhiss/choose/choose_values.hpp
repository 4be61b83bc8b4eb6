#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "lowhiss/choose/judge.hpp"
#include "lowhiss/series/series_values.hpp"

namespace lowhiss {

/// Up to here every set is computed; beyond, sets are searched.
inline constexpr double most_complete_sets = 1e6;

/// A search needs numbers for its sets.
inline constexpr double most_sets = 9e18;

struct ChooseRequest {
    std::size_t best = 5;    ///< sets to find
    std::uint64_t seed = 1;  ///< of a search
    std::size_t starts = 32;
    double complete = most_complete_sets;
};

/// A set of values that was looked at in full.
struct ChosenSet {
    ValueSet values;  ///< empty: the board as drawn
    Judge::Verdicts verdicts;
};

/// How many sets meet one limit at all of its places.
struct LimitCount {
    std::string limit;
    std::size_t meet = 0;
    std::size_t tried = 0;  ///< fewer than the sets, where the limit was computed for some alone
};

struct Chosen {
    double sets = 0;
    bool complete = true;     ///< false: searched
    std::uint64_t tried = 0;  ///< sets computed
    std::uint64_t fit = 0;    ///< of these, that meet every limit
    bool stopped = false;     ///< before the end
    std::size_t starts = 0;   ///< of a search
    std::size_t reached = 0;  ///< starts from which the best set was found
    std::vector<ChosenSet> best;
    std::size_t refused = 0;  ///< sets that meet the limits and have another fault
    std::string why_refused;  ///< of the first
    std::vector<LimitCount> counts;
    std::vector<ChosenSet> near;  ///< where none fits: those that miss least
    ChosenSet drawn;
};

/// Finds the best sets of values of a board with a [choose]: of all sets, or, where there are too
/// many, of those that a search comes by. The search descends from random sets, by steps of one and
/// of two values, to one that no such step improves; start k depends on seed and k alone. Sets that
/// meet the limits are then looked at in full, the best first: one that is not stable, has a fault
/// of its supply or rests on what a model leaves out is refused. All cores; the result does not
/// depend on how many.
Chosen choose_values(const Board& board, const ChooseRequest& request, const Watch& watch = {});

}  // namespace lowhiss
