#include "lowhiss/measure/part_effects.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/random_board.hpp"

namespace lowhiss {
namespace {

/// The board with parts at an end of their tolerance: -1, 0 or 1 for each.
Board at_ends(const Board& board, const std::vector<int>& ends) {
    Board result = board;
    for (std::size_t k = 0; k < ends.size(); ++k) {
        if (ends[k] != 0) stray(result.parts[k], ends[k] * tolerance_of(result.parts[k]));
    }
    return result;
}

/// The board with its variant's changes made, so that each part stands there once.
Board assembled_board(const Board& board, const std::string& variant) {
    Board assembled = with_variant(board, find_variant(board, variant));
    for (Variant& other : assembled.variants) other.changed.clear();
    return assembled;
}

double largest(const PartEffect& effect) {
    return std::max(std::abs(effect.at_low_end), std::abs(effect.at_high_end));
}

}  // namespace

std::vector<LimitEffects> find_effects(const Board& board, const std::string& variant,
                                       const std::vector<Limit>& limits,
                                       const std::vector<Verdict>& nominal) {
    const Board assembled = assembled_board(board, variant);
    // The values of every limit's verdicts with parts at their ends.
    const auto values_at = [&](const std::vector<int>& ends) {
        const Board moved = at_ends(assembled, ends);
        const CheckRequest request{&moved, limits, false, false, {variant}};
        const BoardCheck check = std::move(check_boards({&request, 1}).front());
        std::vector<double> values;
        for (const Verdict& v : check.verdicts) values.push_back(v.value);
        return values;
    };
    const std::size_t count = assembled.parts.size();
    std::vector<std::size_t> loose;
    for (std::size_t k = 0; k < count; ++k) {
        if (tolerance_of(assembled.parts[k]) > 0) loose.push_back(k);
    }
    std::vector<std::vector<double>> low(loose.size());
    std::vector<std::vector<double>> high(loose.size());
    for (std::size_t k = 0; k < loose.size(); ++k) {
        std::vector<int> ends(count);
        ends[loose[k]] = -1;
        low[k] = values_at(ends);
        ends[loose[k]] = 1;
        high[k] = values_at(ends);
    }
    std::vector<LimitEffects> result(nominal.size());
    for (std::size_t i = 0; i < nominal.size(); ++i) {
        LimitEffects& limit = result[i];
        std::vector<int> down(count);
        for (std::size_t k = 0; k < loose.size(); ++k) {
            const PartEffect effect{assembled.parts[loose[k]].name, low[k][i] - nominal[i].value,
                                    high[k][i] - nominal[i].value};
            if (!std::isfinite(largest(effect))) continue;
            down[loose[k]] = effect.at_low_end < effect.at_high_end ? -1 : 1;
            limit.effects.push_back(effect);
        }
        std::stable_sort(
            limit.effects.begin(), limit.effects.end(),
            [](const PartEffect& a, const PartEffect& b) { return largest(a) > largest(b); });
        std::vector<int> up = down;
        for (int& end : up) end = -end;
        limit.worst_case_low = values_at(down)[i];
        limit.worst_case_high = values_at(up)[i];
    }
    return result;
}

}  // namespace lowhiss
