#include "lowhiss/board/nearest.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace lowhiss {
namespace {

constexpr std::size_t longest_compared = 80;

char lower(char letter) {
    return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
}

/// Optimal string alignment distance, in edits.
std::size_t distance(std::string_view a, std::string_view b) {
    std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
    for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const bool same = lower(a[i - 1]) == lower(b[j - 1]);
            d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (same ? 0 : 1)});
            const bool swapped = i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
                                 lower(a[i - 2]) == lower(b[j - 1]);
            if (swapped) d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
        }
    }
    return d[a.size()][b.size()];
}

}  // namespace

std::optional<std::string> nearest(std::string_view name, std::span<const std::string> candidates) {
    if (name.size() > longest_compared) return std::nullopt;
    std::optional<std::string> best;
    std::size_t best_distance = std::max<std::size_t>(1, name.size() / 3) + 1;
    for (const std::string& candidate : candidates) {
        if (candidate.size() > longest_compared) continue;
        const std::size_t edits = distance(name, candidate);
        if (edits < best_distance && edits < candidate.size()) {
            best = candidate;
            best_distance = edits;
        }
    }
    return best;
}

std::string did_you_mean(std::string_view name, std::span<const std::string> candidates) {
    const auto match = nearest(name, candidates);
    return match ? fmt::format("did you mean '{}'?", *match) : "";
}

std::string listed(std::span<const std::string> names) {
    return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace lowhiss
