#include "lowhiss/fit/fit_taper.hpp"

#include <fmt/format.h>

#include <cmath>

namespace lowhiss {
namespace {

std::string rotation_text(double rotation) {
    return fmt::format("{:.4g} %", 100 * rotation);
}

}  // namespace

std::variant<TaperFit, FitProblem> fit_taper(
    const std::vector<std::pair<double, double>>& positions, bool in_ohm) {
    if (positions.size() < 3) {
        return FitProblem{fmt::format("{} positions are too few", positions.size()),
                          "three positions or more, from 0 to 1"};
    }
    for (std::size_t k = 1; k < positions.size(); ++k) {
        const auto& [before, lower] = positions[k - 1];
        const auto& [rotation, value] = positions[k];
        if (rotation <= before) {
            return FitProblem{fmt::format("the rotation {} comes after {}", rotation_text(rotation),
                                          rotation_text(before)),
                              "rotations that ascend, each once"};
        }
        if (value < lower) {
            const bool all_fall = positions.back().second < positions.front().second;
            return FitProblem{
                fmt::format("the track falls from {} to {}", rotation_text(before),
                            rotation_text(rotation)),
                all_fall
                    ? "from the counter-clockwise end to the wiper; this may be from the other "
                      "end"
                    : "a track that rises with the rotation; measure these two again"};
        }
    }
    if (positions.front().first != 0 || positions.back().first != 1) {
        return FitProblem{
            fmt::format("the rotations go from {} to {}", rotation_text(positions.front().first),
                        rotation_text(positions.back().first)),
            "both ends as well, 0 and 1"};
    }
    const double low = positions.front().second;
    const double high = positions.back().second;
    if (!(high > low)) return FitProblem{"the track has no resistance", "a track that rises"};
    if (!in_ohm && (low != 0 || high != 1)) {
        return FitProblem{
            fmt::format("the fractions go from {:.4g} to {:.4g}", low, high),
            "fractions of the track from 0 to 1, or resistances, whose ends may be off"};
    }
    TaperFit fit;
    if (in_ohm) {
        fit.end_resistance_ohm = low;
        fit.resistance_ohm = high - low;
    }
    for (const auto& [rotation, value] : positions) {
        constexpr double digits = 1e4;
        const double fraction = std::round((value - low) / (high - low) * digits) / digits;
        fit.points.emplace_back(rotation, fraction);
    }
    return fit;
}

}  // namespace lowhiss
