#include "lowhiss/series/room.hpp"

#include <cmath>

#include "lowhiss/series/statistics.hpp"

namespace lowhiss {
namespace {

/// The first percentile of a normal distribution is this many sigmas below its median.
constexpr double sigmas_to_percentile_1 = 2.3263;

}  // namespace

Room room_of(const LimitValues& limit) {
    Room room;
    for (const double margin : limit.margins) room.failing += margin >= 0 ? 0 : 1;
    const Statistics s = statistics_of(limit.margins, 0);
    room.mean = s.mean;
    room.sigma = s.sigma;
    room.percentile_1 = s.percentile_1;
    if (s.count > 0) {
        room.depth = sigmas_to_percentile_1 * s.median / (s.median - s.percentile_1);
    }
    return room;
}

bool has_less_room(const Room& a, const Room& b) {
    if (a.failing != b.failing) return a.failing > b.failing;
    if (std::isnan(a.depth)) return false;
    return std::isnan(b.depth) || a.depth < b.depth;
}

}  // namespace lowhiss
