#include "lowhiss/measure/spread.hpp"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>

#include "lowhiss/measure/jobs.hpp"

namespace lowhiss {
namespace {

/// Boards that are computed before the next ones are drawn: they take room.
constexpr std::size_t batch = 64;

CheckRequest request_for(const Board& board, const SpreadRequest& request, bool figures) {
    return {&board, request.limits, figures, false, {request.variant}};
}

BoardCheck check_one(const Board& board, const SpreadRequest& request, bool figures) {
    const CheckRequest one = request_for(board, request, figures);
    return std::move(check_boards({&one, 1}).front());
}

/// All boards of the series, in its order.
std::vector<BoardCheck> check_series(const Board& board, const SpreadRequest& request) {
    std::vector<BoardCheck> all;
    for (std::size_t begin = 0; begin < request.count; begin += batch) {
        std::vector<Board> boards;
        for (std::size_t k = begin; k < std::min(request.count, begin + batch); ++k) {
            boards.push_back(random_board(board, request.series, request.first + k));
        }
        std::vector<CheckRequest> requests;
        requests.reserve(boards.size());
        for (const Board& drawn : boards) requests.push_back(request_for(drawn, request, true));
        for (BoardCheck& check : check_boards(requests)) all.push_back(std::move(check));
    }
    return all;
}

double percentile(const std::vector<double>& sorted, double share) {
    const double place = share * static_cast<double>(sorted.size() - 1);
    const auto below = static_cast<std::size_t>(place);
    const std::size_t above = std::min(below + 1, sorted.size() - 1);
    return std::lerp(sorted[below], sorted[above], place - static_cast<double>(below));
}

/// The board with parts at an end of their tolerance: -1, 0 or 1 for each.
Board at_ends(const Board& board, const std::vector<int>& ends) {
    Board result = board;
    for (std::size_t k = 0; k < ends.size(); ++k) {
        const Tolerance tolerance = tolerance_of(result.parts[k]);
        if (ends[k] != 0) stray(result.parts[k], ends[k] < 0 ? tolerance.low : tolerance.high);
    }
    return result;
}

/// The values of every limit's verdicts on the board with parts at their ends. `assembled` has its
/// variant's changes made.
std::vector<double> values_at(const Board& assembled, const std::vector<int>& ends,
                              const SpreadRequest& request) {
    const Board board = at_ends(assembled, ends);
    std::vector<double> values;
    for (const Verdict& v : check_one(board, request, false).verdicts) values.push_back(v.value);
    return values;
}

double largest(const PartEffect& effect) {
    return std::max(std::abs(effect.at_low_end), std::abs(effect.at_high_end));
}

/// One part after another, then all of them at the end that moves the figure down, and up.
void find_effects(const Board& board, const SpreadRequest& request, Spread& spread) {
    // The variant is made part of the plain board, so that each part stands there once.
    Board assembled = with_variant(board, find_variant(board, request.variant));
    for (Variant& variant : assembled.variants) variant.changed.clear();
    const std::size_t count = assembled.parts.size();
    std::vector<std::size_t> loose;
    for (std::size_t k = 0; k < count; ++k) {
        const Part& part = assembled.parts[k];
        const Tolerance tolerance = tolerance_of(part);
        if (part.fitted && tolerance.low < tolerance.high) loose.push_back(k);
    }
    std::vector<std::vector<double>> low(loose.size());
    std::vector<std::vector<double>> high(loose.size());
    for (std::size_t k = 0; k < loose.size(); ++k) {
        std::vector<int> ends(count);
        ends[loose[k]] = -1;
        low[k] = values_at(assembled, ends, request);
        ends[loose[k]] = 1;
        high[k] = values_at(assembled, ends, request);
    }
    for (std::size_t i = 0; i < spread.limits.size(); ++i) {
        LimitSpread& limit = spread.limits[i];
        std::vector<int> down(count);
        for (std::size_t k = 0; k < loose.size(); ++k) {
            const PartEffect effect{assembled.parts[loose[k]].name, low[k][i] - limit.nominal.value,
                                    high[k][i] - limit.nominal.value};
            if (!std::isfinite(largest(effect))) continue;
            down[loose[k]] = effect.at_low_end < effect.at_high_end ? -1 : 1;
            limit.effects.push_back(effect);
        }
        std::stable_sort(
            limit.effects.begin(), limit.effects.end(),
            [](const PartEffect& a, const PartEffect& b) { return largest(a) > largest(b); });
        std::vector<int> up = down;
        for (int& end : up) end = -end;
        limit.worst_case_low = values_at(assembled, down, request)[i];
        limit.worst_case_high = values_at(assembled, up, request)[i];
    }
}

}  // namespace

Yield yield_of(std::size_t good, std::size_t count) {
    using Binomial = boost::math::binomial_distribution<>;
    constexpr double each_side = 0.025;
    const auto trials = static_cast<double>(count);
    const auto successes = static_cast<double>(good);
    if (count == 0) return {};
    return {good, count, successes / trials,
            Binomial::find_lower_bound_on_p(trials, successes, each_side),
            Binomial::find_upper_bound_on_p(trials, successes, each_side)};
}

Statistics statistics_of(const std::vector<double>& values, std::uint64_t first_board) {
    Statistics result;
    std::vector<double> sorted;
    for (std::size_t k = 0; k < values.size(); ++k) {
        if (!std::isfinite(values[k])) continue;
        sorted.push_back(values[k]);
        if (!(values[k] >= result.min)) {
            result.min = values[k];
            result.board_of_min = first_board + k;
        }
        if (!(values[k] <= result.max)) {
            result.max = values[k];
            result.board_of_max = first_board + k;
        }
    }
    result.count = sorted.size();
    if (sorted.empty()) return result;
    std::sort(sorted.begin(), sorted.end());
    result.mean = boost::math::statistics::mean(sorted);
    if (sorted.size() > 1) {
        result.sigma = std::sqrt(boost::math::statistics::sample_variance(sorted));
    }
    result.percentile_1 = percentile(sorted, 0.01);
    result.median = percentile(sorted, 0.5);
    result.percentile_99 = percentile(sorted, 0.99);
    return result;
}

Spread spread_of(const Board& board, const SpreadRequest& request) {
    const BoardCheck nominal = check_one(board, request, true);
    const std::vector<BoardCheck> drawn = check_series(board, request);
    Spread spread;
    std::size_t all_good = 0;
    for (const BoardCheck& check : drawn) {
        const bool is_good =
            std::all_of(check.verdicts.begin(), check.verdicts.end(),
                        [](const Verdict& v) { return v.outcome == Outcome::met; });
        if (is_good) ++all_good;
    }
    spread.yield = yield_of(all_good, drawn.size());
    for (std::size_t i = 0; i < nominal.verdicts.size(); ++i) {
        LimitSpread limit;
        limit.nominal = nominal.verdicts[i];
        std::size_t good = 0;
        double least_margin = infinite;
        for (std::size_t k = 0; k < drawn.size(); ++k) {
            const Verdict& v = drawn[k].verdicts[i];
            limit.values.push_back(v.value);
            if (v.outcome == Outcome::met) ++good;
            const double margin = std::isnan(v.margin) ? -infinite : v.margin;
            if (margin < least_margin) {
                least_margin = margin;
                limit.worst_board = request.first + k;
            }
        }
        limit.yield = yield_of(good, drawn.size());
        limit.statistics = statistics_of(limit.values, request.first);
        limit.statistics.nominal = limit.nominal.value;
        spread.limits.push_back(std::move(limit));
    }
    for (std::size_t i = 0; i < nominal.figures.size(); ++i) {
        std::vector<double> values;
        values.reserve(drawn.size());
        for (const BoardCheck& check : drawn) values.push_back(check.figures[i].value);
        FigureSpread figure{nominal.figures[i], statistics_of(values, request.first)};
        figure.statistics.nominal = nominal.figures[i].value;
        spread.figures.push_back(std::move(figure));
    }
    find_effects(board, request, spread);
    return spread;
}

}  // namespace lowhiss
