#include "lowhiss/board/board.hpp"

#include <algorithm>

namespace lowhiss {

const Part* find_part(const Board& board, std::string_view name) {
    const auto found = std::find_if(board.parts.begin(), board.parts.end(),
                                    [&](const Part& part) { return part.name == name; });
    return found == board.parts.end() ? nullptr : &*found;
}

const Variant* find_variant(const Board& board, std::string_view name) {
    const auto found = std::find_if(board.variants.begin(), board.variants.end(),
                                    [&](const Variant& variant) { return variant.name == name; });
    return found == board.variants.end() ? nullptr : &*found;
}

Board with_variant(const Board& board, const Variant* variant) {
    Board result = board;
    if (!variant) return result;
    if (!variant->capsule.empty()) result.input.capsule = variant->capsule;
    for (const Part& changed : variant->changed) {
        const auto same = [&](const Part& part) { return part.name == changed.name; };
        *std::find_if(result.parts.begin(), result.parts.end(), same) = changed;
    }
    return result;
}

}  // namespace lowhiss
