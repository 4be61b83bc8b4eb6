#include "lowhiss/sweep/compare.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

double gain_at(Assembly& assembly, double rotation) {
    Setting setting(assembly.board(), assembly.capsule(), rotation, assembly.plans());
    return gain_db(setting, reference_hz);
}

std::vector<InputNoise> input_noise(Setting& setting) {
    const Band band;
    const double gain = std::abs(setting.at(reference_hz).gain);
    const double total_v2 = setting.noise(band).power_v2;
    std::vector<InputNoise> parts;
    for (const PartNoise& part : noise_by_part(setting, band)) {
        parts.push_back(
            {part.part, or_unset(std::sqrt(part.output_v2) / gain), part.output_v2 / total_v2});
    }
    return parts;
}

ComparedPosition look_at(Assembly& assembly, double rotation) {
    ComparedPosition position;
    Setting& setting = assembly.setting(rotation);
    position.rotation = setting.rotation();
    position.figures = take_figures(assembly, rotation);
    position.assumes_ideal = ModelGaps(assembly.board()).at(setting);
    position.noise = input_noise(setting);
    position.rolloff = setting.rolloff();
    return position;
}

constexpr int scan_steps = 100;

/// The rotation of the scan whose gain is nearest; unset if none has a gain.
struct NearestGain {
    double rotation = unset;
    double gain_db = unset;
};

NearestGain nearest_gain(Assembly& assembly, double gain_db) {
    NearestGain nearest;
    const int steps = assembly.board().knob ? scan_steps : 0;
    for (int k = 0; k <= steps; ++k) {
        const double rotation = static_cast<double>(k) / scan_steps;
        const double here_db = gain_at(assembly, rotation);
        if (!std::isfinite(here_db)) continue;
        const bool nearer = !(std::abs(nearest.gain_db - gain_db) <= std::abs(here_db - gain_db));
        if (nearer) nearest = {rotation, here_db};
    }
    return nearest;
}

ComparedPosition look_at_gain(Assembly& assembly, double gain_db) {
    const double rotation = rotation_at_gain(assembly, gain_db);
    if (!std::isnan(rotation)) return look_at(assembly, rotation);
    const NearestGain nearest = nearest_gain(assembly, gain_db);
    ComparedPosition position;
    position.reached = std::abs(nearest.gain_db - gain_db) <= near_gain_db;
    if (position.reached) position = look_at(assembly, nearest.rotation);
    position.nearest_db = nearest.gain_db;
    return position;
}

}  // namespace

double rotation_at_gain(Assembly& assembly, double gain_db) {
    constexpr int steps = scan_steps;
    constexpr double near_enough_db = 0.005;
    constexpr double settled = 1e-9;
    const auto excess_at = [&](double rotation) { return gain_at(assembly, rotation) - gain_db; };
    const double at_start = excess_at(0);
    if (!assembly.board().knob) return std::abs(at_start) < near_enough_db ? 0 : unset;
    double last = at_start;
    for (int k = 1; k <= steps; ++k) {
        const double from = (k - 1.0) / steps;
        const double to = static_cast<double>(k) / steps;
        const double here = excess_at(to);
        if (last == 0) return from;
        if ((last < 0) != (here < 0) && std::isfinite(last) && std::isfinite(here)) {
            std::uintmax_t most_steps = 100;
            const auto close = [](double a, double b) { return std::abs(b - a) < settled; };
            const auto [low, high] = boost::math::tools::toms748_solve(excess_at, from, to, last,
                                                                       here, close, most_steps);
            return (low + high) / 2;
        }
        last = here;
    }
    if (std::abs(at_start) < near_enough_db) return 0;
    return std::abs(last) < near_enough_db ? 1 : unset;
}

std::vector<std::vector<ComparedPosition>> compare(const CompareRequest& request) {
    const std::size_t count = std::max(request.knob.size(), request.gain_db.size());
    std::vector<std::vector<ComparedPosition>> results(request.boards.size());
    for (auto& positions : results) positions.resize(count);
    on_all_cores(results.size() * count, [&](std::size_t job) {
        const Board& board = *request.boards[job / count];
        const std::size_t k = job % count;
        Assembly assembly(board, "", board.input.capsule);
        results[job / count][k] = request.gain_db.empty()
                                      ? look_at(assembly, request.knob[k])
                                      : look_at_gain(assembly, request.gain_db[k]);
    });
    return results;
}

}  // namespace lowhiss
