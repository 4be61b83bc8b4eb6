#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "lowhiss/choose/judge.hpp"
#include "lowhiss/series/series_values.hpp"

namespace lowhiss {

/// Up to this number of sets, each is computed; beyond it, they are searched.
inline constexpr double most_complete_sets = 1e6;

/// The largest number of sets of a search, which numbers them by 64-bit integers.
inline constexpr double most_sets = 9e18;

struct ChooseRequest {
    std::size_t best = 5;    ///< sets to find
    std::uint64_t seed = 1;  ///< of a search
    std::size_t starts = 32;
    double complete = most_complete_sets;
};

/// A set of values that was judged in full.
struct ChosenSet {
    ValueSet values;  ///< empty: the board as drawn
    Judge::Verdicts verdicts;
};

/// The number of sets that meet one limit at all of its places.
struct LimitCount {
    std::string limit;
    std::size_t meet = 0;
    std::size_t tried = 0;  ///< fewer than all sets if the limit was computed only for some
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

/// Finds the best sets of values of a board with a [choose]: of all sets or, if these are too many,
/// of those that a search visits. The search descends from random sets, by steps of one and of two
/// values, to one that no such step improves; start k depends on seed and k alone. Sets that meet
/// the limits are then judged in full, the best first: one that is not stable, has a fault of its
/// supply or rests on a figure that a model leaves out is refused. It runs on all cores; the result
/// does not depend on how many.
Chosen choose_values(const Board& board, const ChooseRequest& request, const Watch& watch = {});

}  // namespace lowhiss
