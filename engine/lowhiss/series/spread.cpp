#include "lowhiss/series/spread.hpp"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>

namespace lowhiss {
namespace {

std::size_t boards_that_meet(const LimitValues& limit) {
    return static_cast<std::size_t>(std::count_if(limit.margins.begin(), limit.margins.end(),
                                                  [](double margin) { return margin >= 0; }));
}

std::size_t boards_that_meet_all(const SeriesValues& series) {
    std::size_t good = 0;
    const auto& without = series.without_solution;
    for (std::size_t k = 0; k < series.count; ++k) {
        const bool solved = !std::binary_search(without.begin(), without.end(), series.first + k);
        if (solved && series.faults[k] == 0 &&
            std::all_of(series.limits.begin(), series.limits.end(),
                        [k](const LimitValues& limit) { return limit.margins[k] >= 0; })) {
            ++good;
        }
    }
    return good;
}

/// The first board of least margin; one without a margin counts as worse than any with one.
std::size_t place_of_least_margin(const LimitValues& limit) {
    const auto size = [](double margin) { return std::isnan(margin) ? -infinite : margin; };
    const auto least = std::min_element(limit.margins.begin(), limit.margins.end(),
                                        [&](double a, double b) { return size(a) < size(b); });
    return static_cast<std::size_t>(least - limit.margins.begin());
}

/// The knob positions of the check: each has the first standard figure once.
std::vector<double> positions_of(const BoardCheck& nominal) {
    std::vector<double> positions;
    for (const Figure& figure : nominal.figures) {
        if (figure.figure == &standard_figures().front()) positions.push_back(figure.knob);
    }
    return positions;
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

Yield yield_of_boards(const Board& board, const SpreadRequest& request, const Watch& watch) {
    const BoardCheck nominal = check_nominal(board, request);
    const SeriesValues series = compute_series(board, request, nominal, watch);
    return yield_of(boards_that_meet_all(series), series.count);
}

Spread spread_from(const Board& board, const SpreadRequest& request, const BoardCheck& nominal,
                   const std::vector<LimitEffects>& effects, const FigureSlopes& slopes,
                   SeriesValues series) {
    const std::vector<FoundWorst> found = find_worst(board, request, nominal, effects, series);
    const std::vector<VarianceShares> shares =
        find_shares(board, request, nominal, effects, series);
    Spread spread;
    spread.yield = yield_of(boards_that_meet_all(series), series.count);
    spread.without_solution = std::move(series.without_solution);
    spread.why_without = std::move(series.why_without);
    for (std::size_t i = 0; i < series.limits.size(); ++i) {
        LimitValues& limit = series.limits[i];
        const Statistics statistics = statistics_of(limit.values, series.first);
        const Room room = room_of(limit);
        spread.limits.push_back(
            {nominal.verdicts[i], yield_of(boards_that_meet(limit), series.count), statistics,
             std::move(limit.values), series.first + place_of_least_margin(limit), room, effects[i],
             shares[i], found[i]});
        spread.limits.back().statistics.nominal = nominal.verdicts[i].value;
    }
    for (std::size_t i = 0; i < series.figures.size(); ++i) {
        spread.figures.push_back(
            {nominal.figures[i], statistics_of(series.figures[i], series.first)});
        spread.figures.back().statistics.nominal = nominal.figures[i].value;
    }
    spread.faults = nominal.faults;
    spread.faulty_boards = static_cast<std::size_t>(std::count_if(
        series.faults.begin(), series.faults.end(), [](double faults) { return faults > 0; }));
    spread.slopes = slopes;
    spread.response = {response_grid_hz(), positions_of(nominal), nominal.response_db,
                       series.least_db, series.most_db};
    return spread;
}

Spread spread_of(const Board& board, const SpreadRequest& request, const Watch& watch) {
    const BoardCheck nominal = check_nominal(board, request);
    const std::vector<LimitEffects> effects =
        find_effects(board, request.variant, request.limits, nominal.verdicts);
    const FigureSlopes slopes = find_slopes(board, request.variant, nominal.figures);
    return spread_from(board, request, nominal, effects, slopes,
                       compute_series(board, request, nominal, watch));
}

const LimitSpread* least_room(const Spread& spread) {
    const LimitSpread* least = nullptr;
    for (const LimitSpread& limit : spread.limits) {
        if (std::isnan(limit.room.mean)) continue;
        if (!least || has_less_room(limit.room, least->room)) least = &limit;
    }
    return least;
}

}  // namespace lowhiss
