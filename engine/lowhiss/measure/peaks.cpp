#include "lowhiss/measure/peaks.hpp"

#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <cmath>
#include <functional>
#include <numeric>
#include <set>
#include <utility>

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

constexpr double visible_db = 0.01;
constexpr double straight_db = 0.3;  ///< a line that is no further from the curve follows it
constexpr int most_halvings = 7;
constexpr int least_halvings = 2;  ///< a flank bends both ways, and may cross its line half way
constexpr std::ptrdiff_t flank_spans = 2;  ///< of the grid, on each side of a peak
constexpr int peak_bits = 20;              ///< of ln f; near a peak the value has twice as many

using Curve_db = std::function<double(double frequency_hz)>;

/// Halves the span from `a` to `b`, in hertz, until straight lines follow the curve.
void follow_flank(const Curve_db& curve, double a, double a_db, double b, double b_db, int halvings,
                  std::set<double>& found) {
    if (halvings == 0) return;
    const double middle = std::sqrt(a * b);
    const double middle_db = curve(middle);
    const bool sure = most_halvings - halvings < least_halvings;
    if (!sure && !(std::abs(middle_db - (a_db + b_db) / 2) > straight_db)) return;
    found.insert(middle);
    follow_flank(curve, a, a_db, middle, middle_db, halvings - 1, found);
    follow_flank(curve, middle, middle_db, b, b_db, halvings - 1, found);
}

/// `scan_hz` has the grid and the resonances between its ends.
void find_peaks(const Curve_db& curve, std::span<const double> grid_hz,
                const std::vector<double>& scan_hz, std::set<double>& tops_hz,
                std::set<double>& flanks_hz) {
    std::vector<double> values;
    values.reserve(scan_hz.size());
    for (const double f_hz : scan_hz) values.push_back(curve(f_hz));
    for (std::size_t k = 1; k + 1 < values.size(); ++k) {
        const bool highest = values[k] >= values[k - 1] && values[k] >= values[k + 1];
        if (!highest || !(values[k] > std::fmin(values[k - 1], values[k + 1]))) continue;
        const auto [ln_hz, negative_db] = boost::math::tools::brent_find_minima(
            [&](double ln) { return -curve(std::exp(ln)); }, std::log(scan_hz[k - 1]),
            std::log(scan_hz[k + 1]), peak_bits);
        const double peak_hz = std::exp(ln_hz);
        const double peak_db = -negative_db;
        const auto above = std::upper_bound(grid_hz.begin(), grid_hz.end(), peak_hz);
        if (above == grid_hz.begin() || above == grid_hz.end()) continue;
        const double stands_db = peak_db - std::fmax(curve(*(above - 1)), curve(*above));
        if (!(stands_db > visible_db)) continue;
        tops_hz.insert(peak_hz);
        if (stands_db < straight_db) continue;
        std::vector<std::pair<double, double>> flank{{peak_hz, peak_db}};
        for (auto at = above; at != grid_hz.end() && at - above < flank_spans; ++at) {
            flank.emplace_back(*at, curve(*at));
        }
        for (auto at = above; at != grid_hz.begin() && above - at < flank_spans; --at) {
            flank.emplace_back(*(at - 1), curve(*(at - 1)));
        }
        std::sort(flank.begin(), flank.end());
        for (std::size_t i = 1; i < flank.size(); ++i) {
            const auto& [a_hz, a_db] = flank[i - 1];
            const auto& [b_hz, b_db] = flank[i];
            follow_flank(curve, a_hz, a_db, b_hz, b_db, most_halvings, flanks_hz);
        }
    }
}

double output_noise_db(Setting& setting, double f_hz) {
    const std::vector<double>& by_group = setting.at(f_hz).noise_v2_hz;
    const double power = std::accumulate(by_group.begin(), by_group.end(), 0.0);
    return power > 0 ? 10 * std::log10(power) : unset;
}

}  // namespace

Peaks peaks_beside(Setting& setting, std::span<const double> grid_hz) {
    if (grid_hz.size() < 3) return {};
    std::vector<double> scan_hz(grid_hz.begin(), grid_hz.end());
    for (const double f_hz : setting.resonances_hz()) {
        if (f_hz > grid_hz.front() && f_hz < grid_hz.back()) scan_hz.push_back(f_hz);
    }
    std::sort(scan_hz.begin(), scan_hz.end());
    scan_hz.erase(std::unique(scan_hz.begin(), scan_hz.end()), scan_hz.end());
    setting.prepare(scan_hz);
    std::set<double> tops_hz;
    std::set<double> flanks_hz;
    find_peaks([&](double f_hz) { return gain_db(setting, f_hz); }, grid_hz, scan_hz, tops_hz,
               flanks_hz);
    find_peaks([&](double f_hz) { return output_noise_db(setting, f_hz); }, grid_hz, scan_hz,
               tops_hz, flanks_hz);
    return {{tops_hz.begin(), tops_hz.end()}, {flanks_hz.begin(), flanks_hz.end()}};
}

}  // namespace lowhiss
