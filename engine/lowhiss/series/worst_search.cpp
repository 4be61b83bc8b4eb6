#include "lowhiss/series/worst_search.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/series/limit_place.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t most_in_full = 6;  // random numbers of which every corner is tried
constexpr std::size_t fixed_starts = 10;
constexpr std::size_t board_starts = 3;
constexpr std::size_t most_paired = 8;
constexpr int most_slope_steps = 6;

/// A change smaller than this part of the figure is rounding.
constexpr double rounding_share = 1e-9;

/// A random number with less than this fraction of the largest effect is changed in the last pass
/// only.
constexpr double minor_share = 1e-4;

enum class Goal { lowest, highest, least_margin };

/// The quantity that the search minimises; unset if the value is.
double cost_of(Goal goal, double value, double margin) {
    if (goal == Goal::least_margin) return margin;
    return goal == Goal::lowest ? value : -value;
}

/// The data that all searches of a board share.
struct Ground {
    Board assembled;
    PlanShelf plans;
    std::vector<Draw> draws;
    std::vector<std::size_t> parts;  ///< loose_parts
};

using Corner = std::vector<End>;

End other(End end) {
    return end == End::low ? End::high : End::low;
}

/// One limit at one place in one direction.
class WorstSearch {
  public:
    WorstSearch(const Ground& ground, const LimitPlace& place, Goal goal,
                const std::vector<PartEffect>& effects)
        : ground_(ground), place_(place), goal_(goal), most_(200 + 8 * ground.draws.size()) {
        // The effects are sorted, and the largest is changed first.
        for (const PartEffect& effect : effects) order_.push_back(draw_of(effect.draw));
        weight_.resize(ground.draws.size());
    }

    FoundEnd find(const std::vector<PartEffect>& effects, const std::vector<std::uint64_t>& boards,
                  const BoardSeries& series) {
        const std::size_t count = ground_.draws.size();
        if (count <= most_in_full) {
            try_all();
        } else {
            climb(corner_by(effects));
            if (!is_additive(effects)) {
                for (const std::uint64_t board : boards) climb(corner_near(series, board));
                for (std::size_t k = 0; k < fixed_starts && !spent(); ++k) climb(fixed_corner(k));
                while (!spent() && best_ && change_pairs()) climb(*best_);
            }
        }
        FoundEnd found;
        found.corners_tried = known_.size();
        if (!best_) return found;
        const Judged judged = judged_at(*best_);
        found.value = judged.value;
        found.margin = judged.margin;
        found.ends = *best_;
        found.settled = count <= most_in_full || settled_.contains(*best_);
        return found;
    }

  private:
    std::size_t draw_of(const Draw& draw) const {
        const auto found = std::find_if(
            ground_.draws.begin(), ground_.draws.end(),
            [&](const Draw& each) { return each.kind == draw.kind && each.name == draw.name; });
        return static_cast<std::size_t>(found - ground_.draws.begin());
    }

    /// Whether the change of the figure at the best corner is the sum of the effects of single
    /// draws. Then no two draws interact, and other starts lead to the same corner.
    bool is_additive(const std::vector<PartEffect>& effects) const {
        constexpr double tolerance = 0.1;
        const Judged drawn = judged_at(Corner(ground_.draws.size(), End::drawn));
        const double moved = best_cost_ - cost_of(goal_, drawn.value, drawn.margin);
        double expected = 0;
        for (const PartEffect& effect : effects) {
            expected += std::min({cost_of(goal_, effect.at_low_end, effect.at_low_end),
                                  cost_of(goal_, effect.at_high_end, effect.at_high_end), 0.0});
        }
        return std::abs(moved - expected) <= tolerance * std::abs(expected);
    }

    bool spent() const { return known_.size() >= most_; }

    Judged judged_at(const Corner& corner) const {
        return judge(place_, corner_board(ground_.assembled, ground_.draws, corner), ground_.plans);
    }

    /// Infinite where there is no figure.
    double cost(const Corner& corner) {
        const auto [entry, is_new] = known_.try_emplace(corner, 0);
        if (!is_new) return entry->second;
        const Judged judged = judged_at(corner);
        const double found = cost_of(goal_, judged.value, judged.margin);
        entry->second = found;
        if (std::isnan(found)) entry->second = infinite;
        if (is_less(found, best_cost_)) {
            best_ = corner;
            best_cost_ = found;
        }
        return entry->second;
    }

    static bool is_less(double a, double b) {
        return std::isfinite(a) && !(a >= b - rounding_share * std::abs(b));
    }

    void try_all() {
        const std::size_t count = ground_.draws.size();
        for (std::size_t k = 0; k < (std::size_t{1} << count); ++k) {
            Corner corner(count);
            for (std::size_t i = 0; i < count; ++i) {
                corner[i] = (k >> i & 1U) != 0 ? End::high : End::low;
            }
            cost(corner);
        }
    }

    /// The corner to which the effects on the drawn board lead: each draw at the end that alone
    /// makes the figure worse.
    Corner corner_by(const std::vector<PartEffect>& effects) const {
        Corner corner(ground_.draws.size(), End::low);
        for (std::size_t k = 0; k < effects.size(); ++k) {
            const PartEffect& effect = effects[k];
            const double low = cost_of(goal_, effect.at_low_end, effect.at_low_end);
            const double high = cost_of(goal_, effect.at_high_end, effect.at_high_end);
            const double slope = cost_of(goal_, effect.per_percent, unset);
            if (high < low || (!(low < high) && slope < 0)) corner[order_[k]] = End::high;
        }
        return corner;
    }

    /// The ends nearest to the numbers that board `k` of a series of its own has for the same
    /// names.
    Corner fixed_corner(std::size_t k) const {
        constexpr BoardSeries of_starts{0xC0A9E5, Distribution::uniform};
        return corner_near(of_starts, k);
    }

    Corner corner_near(const BoardSeries& series, std::uint64_t board) const {
        Corner corner;
        for (const Draw& draw : ground_.draws) {
            const double middle = std::midpoint(draw.low, draw.high);
            corner.push_back(drawn_by(series, board, draw) > middle ? End::high : End::low);
        }
        return corner;
    }

    /// The corner to which the slopes at a corner lead; the corner itself without slopes.
    Corner along_slopes(const Corner& corner) {
        const Board at = corner_board(ground_.assembled, ground_.draws, corner);
        Judged judged;
        if (goal_ == Goal::least_margin) judged = judge(place_, at, ground_.plans);
        const std::vector<double> slopes =
            slopes_at(place_, at, ground_.plans, ground_.parts, judged.at_hz);
        Corner to = corner;
        for (std::size_t k = 0; k < to.size(); ++k) {
            double slope = slope_of_draw(ground_.draws[k], at, ground_.parts, slopes);
            if (goal_ == Goal::highest || (goal_ == Goal::least_margin && judged.nearer_max)) {
                slope = -slope;
            }
            if (slope > 0) to[k] = End::low;
            if (slope < 0) to[k] = End::high;
        }
        return to;
    }

    /// Walks from a corner to one that no single change makes worse.
    void climb(Corner corner) {
        double cost_here = cost(corner);
        for (int step = 0; step < most_slope_steps && !spent(); ++step) {
            if (!std::isfinite(cost_here) || !walked_.insert(corner).second) break;
            const Corner next = along_slopes(corner);
            const double cost_there = cost(next);
            if (!is_less(cost_there, cost_here)) break;
            corner = next;
            cost_here = cost_there;
        }
        bool all = true;
        while (!spent() && !settled_.contains(corner)) {
            const bool changed = change_each(all, corner, cost_here);
            if (!changed && all) settled_.insert(corner);
            all = !changed;
        }
    }

    /// One pass over the draws, or those of an effect; true if the corner has changed.
    bool change_each(bool all, Corner& corner, double& cost_here) {
        const double most = *std::max_element(weight_.begin(), weight_.end());
        bool changed = false;
        for (const std::size_t k : order_) {
            if (!all && !(weight_[k] > minor_share * most)) continue;
            if (spent()) return false;
            Corner next = corner;
            next[k] = other(next[k]);
            const double cost_there = cost(next);
            if (std::isfinite(cost_there - cost_here)) {
                weight_[k] = std::max(weight_[k], std::abs(cost_there - cost_here));
            }
            if (!is_less(cost_there, cost_here)) continue;
            corner = next;
            cost_here = cost_there;
            changed = true;
        }
        return changed;
    }

    /// Pairs of the draws that matter most, from the best corner; true if it has changed.
    bool change_pairs() {
        std::vector<std::size_t> ranked = order_;
        std::stable_sort(ranked.begin(), ranked.end(),
                         [&](std::size_t a, std::size_t b) { return weight_[a] > weight_[b]; });
        ranked.resize(std::min(most_paired, ranked.size()));
        const Corner from = *best_;
        const double cost_from = best_cost_;
        for (std::size_t a = 0; a < ranked.size(); ++a) {
            for (std::size_t b = a + 1; b < ranked.size() && !spent(); ++b) {
                Corner next = from;
                next[ranked[a]] = other(next[ranked[a]]);
                next[ranked[b]] = other(next[ranked[b]]);
                cost(next);
            }
        }
        return is_less(best_cost_, cost_from);
    }

    const Ground& ground_;
    const LimitPlace& place_;
    Goal goal_;
    std::size_t most_;                ///< corners
    std::vector<std::size_t> order_;  ///< of the draws
    std::vector<double> weight_;      ///< the largest effect of each draw at any corner
    std::map<Corner, double> known_;  ///< cost by corner
    std::set<Corner> walked_;         ///< the slopes there are known
    std::set<Corner> settled_;
    std::optional<Corner> best_;
    double best_cost_ = infinite;
};

/// The places of the boards of least cost, those first.
std::vector<std::size_t> worst_places(Goal goal, const LimitValues& limit) {
    std::vector<std::pair<double, std::size_t>> ranked;
    for (std::size_t k = 0; k < limit.values.size(); ++k) {
        const double cost = cost_of(goal, limit.values[k], limit.margins[k]);
        if (std::isfinite(cost)) ranked.emplace_back(cost, k);
    }
    const auto count = std::min(board_starts, ranked.size());
    std::partial_sort(ranked.begin(), ranked.begin() + static_cast<std::ptrdiff_t>(count),
                      ranked.end());
    std::vector<std::size_t> places;
    for (std::size_t k = 0; k < count; ++k) places.push_back(ranked[k].second);
    return places;
}

FoundEnd found_in(Goal goal, const Ground& ground, const LimitPlace& place,
                  const LimitEffects& effects, const BoardSeries& series, std::uint64_t first_board,
                  const LimitValues& limit) {
    const std::vector<std::size_t> places = worst_places(goal, limit);
    std::vector<std::uint64_t> boards;
    boards.reserve(places.size());
    for (const std::size_t k : places) boards.push_back(first_board + k);
    FoundEnd found;
    if (!ground.draws.empty()) {
        found =
            WorstSearch(ground, place, goal, effects.effects).find(effects.effects, boards, series);
    }
    if (places.empty()) return found;
    const double of_board =
        cost_of(goal, limit.values[places.front()], limit.margins[places.front()]);
    if (!std::isnan(found.value) && cost_of(goal, found.value, found.margin) <= of_board) {
        return found;
    }
    found.value = limit.values[places.front()];
    found.margin = limit.margins[places.front()];
    found.board = boards.front();
    found.ends.clear();
    return found;
}

}  // namespace

std::vector<FoundWorst> find_worst(const Board& board, const SpreadRequest& request,
                                   const BoardCheck& nominal,
                                   const std::vector<LimitEffects>& effects,
                                   const SeriesValues& series) {
    Ground ground;
    ground.assembled = assembled_board(board, request.variant);
    ground.plans = plans_for({&ground.assembled, request.limits, false, false, {request.variant}});
    ground.draws = draws_of(ground.assembled);
    ground.parts = loose_parts(ground.assembled);
    const std::vector<LimitPlace> places = places_of(nominal.verdicts, request.limits);
    std::vector<FoundWorst> result(places.size());
    on_all_cores(2 * places.size(), [&](std::size_t k) {
        const std::size_t i = k / 2;
        FoundWorst& found = result[i];
        const bool first = k % 2 == 0;
        const bool is_mask = nominal.verdicts[i].is_mask;
        if (is_mask && !first) return;
        const Goal goal = is_mask ? Goal::least_margin : first ? Goal::lowest : Goal::highest;
        (first ? found.lowest : found.highest) = found_in(
            goal, ground, places[i], effects[i], request.series, series.first, series.limits[i]);
    });
    for (std::size_t i = 0; i < result.size(); ++i) {
        result[i].draws = ground.draws;
        if (nominal.verdicts[i].is_mask) result[i].highest = result[i].lowest;
    }
    return result;
}

Board board_of(const Board& board, const BoardSeries& series, const FoundWorst& found,
               const FoundEnd& end) {
    if (end.board) return random_board(board, series, *end.board);
    return corner_board(board, found.draws, end.ends);
}

}  // namespace lowhiss
