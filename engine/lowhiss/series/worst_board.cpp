#include "lowhiss/series/worst_board.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/series/room.hpp"
#include "lowhiss/text/nearest.hpp"

namespace lowhiss {
namespace {

[[noreturn]] void refuse_limit(const Board& board, const std::string& limit,
                               const std::string& found) {
    std::vector<std::string> known;
    for (const Limit& each : board.limits) known.push_back(each.name);
    Diagnostic d;
    d.code = "unknown-limit";
    d.found = found;
    d.accepted = known.empty() ? "none: the board has no limit" : listed(known);
    d.advice = did_you_mean(limit, known);
    throw Error(Error::Kind::unusable_input, {d});
}

/// The place of the limit that is meant; the number of places if there is none.
std::size_t place_meant(const std::vector<FoundWorst>& found, const SeriesValues& series,
                        bool named) {
    std::size_t least = found.size();
    for (std::size_t i = 0; i < found.size(); ++i) {
        if (std::isnan(found[i].worst().value)) continue;
        if (!named && std::isnan(room_of(series.limits[i]).mean)) continue;
        const auto is_less = [&](std::size_t a, std::size_t b) {
            return named ? found[a].worst().margin < found[b].worst().margin
                         : has_less_room(room_of(series.limits[a]), room_of(series.limits[b]));
        };
        if (least == found.size() || is_less(i, least)) least = i;
    }
    return least;
}

}  // namespace

WorstBoard find_worst_board(const Board& board, SpreadRequest request, const std::string& limit) {
    const bool named = !limit.empty();
    request.limits = board.limits;
    request.figures = false;
    if (named) {
        std::erase_if(request.limits, [&](const Limit& each) { return each.name != limit; });
        if (request.limits.empty()) {
            refuse_limit(board, limit, fmt::format("the board has no limit '{}'", limit));
        }
    }
    const BoardCheck nominal = check_nominal(board, request);
    const std::vector<LimitEffects> effects =
        find_effects(board, request.variant, request.limits, nominal.verdicts);
    const SeriesValues series = compute_series(board, request, nominal);
    std::vector<FoundWorst> found = find_worst(board, request, nominal, effects, series);
    const std::size_t place = place_meant(found, series, named);
    if (place == found.size()) {
        refuse_limit(board, limit,
                     named ? fmt::format("limit '{}' has no figure in this variant", limit)
                           : "no limit has a figure in this variant");
    }
    Board worst = board_of(board, request.series, found[place], found[place].worst());
    return {nominal.verdicts[place], std::move(found[place]), std::move(worst)};
}

}  // namespace lowhiss
