#include "lowhiss/board/board.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/text/nearest.hpp"

namespace lowhiss {
namespace {

[[noreturn]] void refuse_name(std::string_view what, const std::string& name,
                              const std::vector<std::string>& known) {
    Diagnostic d;
    d.code = fmt::format("unknown-{}", what);
    d.found = fmt::format("the board has no {} '{}'", what, name);
    d.accepted = known.empty() ? fmt::format("none: the board has no {}", what) : listed(known);
    d.advice = did_you_mean(name, known);
    throw Error(Error::Kind::unusable_input, {d});
}

/// Keeps the accepted faults that apply to this variant, without their lists of variants.
void keep_accepted(std::string_view variant, std::vector<AcceptedFault>& accepted) {
    std::erase_if(accepted, [&](const AcceptedFault& fault) {
        const auto& names = fault.variants;
        return !names.empty() && std::find(names.begin(), names.end(), variant) == names.end();
    });
    for (AcceptedFault& fault : accepted) fault.variants.clear();
}

}  // namespace

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

Drift drift_allowed(const Board& board, const MeasureSchema& measure) {
    const auto own =
        std::find_if(board.drift.begin(), board.drift.end(),
                     [&](const Allowance& allowance) { return allowance.measure == &measure; });
    return own == board.drift.end() ? measure.drift : own->drift;
}

Board with_variant(const Board& board, const Variant* variant) {
    Board result = board;
    keep_accepted(variant ? variant->name : plain_variant, result.accepted);
    if (!variant) return result;
    if (!variant->capsule.empty()) result.input.capsule = variant->capsule;
    if (variant->without_feed) result.feed.reset();
    if (variant->feed) result.feed = variant->feed;
    for (const Part& changed : variant->changed) {
        const auto same = [&](const Part& part) { return part.name == changed.name; };
        *std::find_if(result.parts.begin(), result.parts.end(), same) = changed;
    }
    return result;
}

const Variant* variant_named(const Board& board, const std::string& name) {
    if (name.empty()) return nullptr;
    if (const Variant* variant = find_variant(board, name)) return variant;
    std::vector<std::string> known;
    for (const Variant& variant : board.variants) known.push_back(variant.name);
    refuse_name("variant", name, known);
}

const Capsule* capsule_named(const Board& board, const std::string& name) {
    if (name.empty()) return nullptr;
    const auto found = board.models.capsules.find(name);
    if (found != board.models.capsules.end()) return &found->second;
    std::vector<std::string> known;
    for (const auto& [capsule, model] : board.models.capsules) known.push_back(capsule);
    refuse_name("capsule", name, known);
}

}  // namespace lowhiss
