#include "lowhiss/series/statistics.hpp"

#include <algorithm>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>

namespace lowhiss {
namespace {

double percentile(const std::vector<double>& sorted, double share) {
    const double place = share * static_cast<double>(sorted.size() - 1);
    const auto below = static_cast<std::size_t>(place);
    const std::size_t above = std::min(below + 1, sorted.size() - 1);
    return std::lerp(sorted[below], sorted[above], place - static_cast<double>(below));
}

}  // namespace

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

}  // namespace lowhiss
