#include "lowhiss/series/variance_shares.hpp"

#include <algorithm>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>

#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/series/limit_place.hpp"

namespace lowhiss {
namespace {

constexpr double enough_explained = 0.8;
constexpr std::size_t fewest_boards = 16;
constexpr std::size_t most_exchanged = 64;

/// A draw with less than this share, or less than this fraction of the largest share, is not among
/// those that matter together.
constexpr double minor_total = 0.02;
constexpr double minor_part_of_largest = 0.1;

/// A variance below this part of the mean's square is rounding.
constexpr double least_variance = 1e-18;

/// The boards that have the figure, and their figures.
struct Sample {
    std::vector<std::uint64_t> boards;
    std::vector<double> figures;
    double variance = 0;
};

Sample sample_of(const LimitValues& limit, bool is_mask, std::uint64_t first_board) {
    Sample sample;
    for (std::size_t k = 0; k < limit.values.size(); ++k) {
        const double figure = figure_of(is_mask, limit.values[k], limit.margins[k]);
        if (!std::isfinite(figure)) continue;
        sample.boards.push_back(first_board + k);
        sample.figures.push_back(figure);
    }
    if (sample.figures.size() < 2) return sample;
    const double mean = boost::math::statistics::mean(sample.figures);
    const double variance = boost::math::statistics::sample_variance(sample.figures);
    if (variance > least_variance * mean * mean) sample.variance = variance;
    return sample;
}

/// Change of the figure along the straight line through both ends, for each unit of the draw.
double steepness(const PartEffect& effect) {
    return (effect.at_high_end - effect.at_low_end) / (effect.draw.high - effect.draw.low);
}

/// Shares by the effect of each draw alone, and how much of the sample's variance these explain.
VarianceShares by_effects(const std::vector<PartEffect>& effects, const BoardSeries& series,
                          const Sample& sample) {
    VarianceShares result;
    std::vector<double> rest = sample.figures;
    const bool sampled = rest.size() >= fewest_boards && sample.variance > 0;
    double sum = 0;
    for (const PartEffect& effect : effects) {
        const double line = steepness(effect);
        const double width = effect.at_high_end - effect.at_low_end;
        double variance = width * width / 12;
        if (sampled && std::isfinite(line)) {
            std::vector<double> along;
            for (std::size_t k = 0; k < rest.size(); ++k) {
                along.push_back(line * drawn_by(series, sample.boards[k], effect.draw));
                rest[k] -= along.back();
            }
            variance = boost::math::statistics::sample_variance(along);
        }
        result.shares.push_back(std::isfinite(variance) ? variance : unset);
        if (std::isfinite(variance)) sum += variance;
    }
    for (double& share : result.shares) share = sum > 0 ? share / sum : 0;
    if (sampled) {
        const double left = boost::math::statistics::sample_variance(rest);
        result.explained = std::max(0.0, 1 - left / sample.variance);
    }
    return result;
}

/// Total effects at one place, by exchange.
class Exchange {
  public:
    Exchange(const Board& assembled, const PlanShelf& plans, const LimitPlace& place, bool is_mask,
             const std::vector<PartEffect>& effects, const BoardSeries& series,
             const Sample& sample)
        : assembled_(assembled),
          plans_(plans),
          place_(place),
          is_mask_(is_mask),
          effects_(effects),
          series_(series),
          sample_(sample),
          count_(std::min(sample.boards.size(), std::clamp(sample.boards.size() / effects.size(),
                                                           fewest_boards, most_exchanged))) {}

    void find(VarianceShares& result) {
        result.method = VarianceShares::Method::exchange;
        std::vector<std::vector<bool>> sets;
        for (std::size_t k = 0; k < effects_.size(); ++k) {
            sets.emplace_back(effects_.size());
            sets.back()[k] = true;
        }
        result.shares = totals_of(sets);
        for (std::size_t k = 0; k < effects_.size(); ++k) result.together.push_back(k);
        std::stable_sort(
            result.together.begin(), result.together.end(),
            [&](std::size_t a, std::size_t b) { return result.shares[a] > result.shares[b]; });
        const double least =
            std::max(minor_total, minor_part_of_largest * result.shares[result.together.front()]);
        std::erase_if(result.together, [&](std::size_t k) { return result.shares[k] < least; });
        std::vector<bool> others(effects_.size(), true);
        for (const std::size_t k : result.together) others[k] = false;
        result.together_share = std::max(0.0, 1 - totals_of({others}).front());
        result.boards_solved = count_ * (effects_.size() + 1);
    }

  private:
    /// Half the mean square of the change by each set of draws, over the variance.
    std::vector<double> totals_of(const std::vector<std::vector<bool>>& sets) const {
        std::vector<double> squares(sets.size() * count_);
        on_all_cores(squares.size(), [&](std::size_t job) {
            const std::size_t k = job % count_;
            const double change = exchanged(k, sets[job / count_]) - sample_.figures[k];
            squares[job] = change * change;
        });
        std::vector<double> totals;
        for (std::size_t set = 0; set < sets.size(); ++set) {
            double sum = 0;
            double known = 0;
            for (std::size_t k = 0; k < count_; ++k) {
                const double square = squares[set * count_ + k];
                if (!std::isfinite(square)) continue;
                sum += square;
                ++known;
            }
            totals.push_back(known > 0 ? sum / known / 2 / sample_.variance : 0);
        }
        return totals;
    }

    /// The figure of the k-th board with the draws of a set as the next board has them.
    double exchanged(std::size_t k, const std::vector<bool>& set) const {
        const std::uint64_t own = sample_.boards[k];
        const std::uint64_t next = sample_.boards[(k + 1) % sample_.boards.size()];
        const Board board = board_with(assembled_, [&](const Draw& draw) {
            for (std::size_t i = 0; i < effects_.size(); ++i) {
                const Draw& each = effects_[i].draw;
                if (set[i] && each.kind == draw.kind && each.name == draw.name) {
                    return drawn_by(series_, next, draw);
                }
            }
            return drawn_by(series_, own, draw);
        });
        const Judged judged = judge(place_, board, plans_);
        return figure_of(is_mask_, judged.value, judged.margin);
    }

    const Board& assembled_;
    const PlanShelf& plans_;
    const LimitPlace& place_;
    bool is_mask_;
    const std::vector<PartEffect>& effects_;
    const BoardSeries& series_;
    const Sample& sample_;
    std::size_t count_;
};

}  // namespace

std::vector<VarianceShares> find_shares(const Board& board, const SpreadRequest& request,
                                        const BoardCheck& nominal,
                                        const std::vector<LimitEffects>& effects,
                                        const SeriesValues& series) {
    const Board assembled = assembled_board(board, request.variant);
    const PlanShelf plans =
        plans_for({&assembled, request.limits, false, false, {request.variant}});
    const std::vector<LimitPlace> places = places_of(nominal.verdicts, request.limits);
    std::vector<VarianceShares> result;
    for (std::size_t i = 0; i < places.size(); ++i) {
        const bool is_mask = nominal.verdicts[i].is_mask;
        const Sample sample = sample_of(series.limits[i], is_mask, series.first);
        result.push_back(by_effects(effects[i].effects, request.series, sample));
        if (!(result.back().explained < enough_explained)) continue;
        Exchange(assembled, plans, places[i], is_mask, effects[i].effects, request.series, sample)
            .find(result.back());
    }
    return result;
}

}  // namespace lowhiss
