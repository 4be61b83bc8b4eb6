#include "lowhiss/board/read_limit.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

std::vector<std::string> variant_names(const Board& board) {
    std::vector<std::string> names;
    for (const Variant& variant : board.variants) names.push_back(variant.name);
    return names;
}

void reject_duplicate(const LimitEntry& limit, const Board& board, Diagnostics& out) {
    const auto same = std::find_if(
        board.limits.begin(), board.limits.end(),
        [&](const LimitEntry& other) { return !limit.name.empty() && other.name == limit.name; });
    if (same == board.limits.end()) return;
    out.push_back(error_at(limit.at, "duplicate-limit", "limit",
                           fmt::format("there is a limit {} at {}:{} already", quote(limit.name),
                                       same->at.source->path, same->at.line),
                           "", "give one of them another name"));
}

/// The figures wait for `check`, which knows the measures and their units.
void read_limit(const Node& node, Board& board, Diagnostics& out) {
    const Node::Table* table = read_table(node, "limit", out);
    if (!table) return;
    LimitEntry limit{"", *table, node.at};
    for (const std::string key : {"name", "measure"}) {
        const Member* member = find(*table, key);
        if (!member) {
            out.push_back(error_at(node.at, "missing-key", "limit",
                                   fmt::format("'{}' is missing", key),
                                   key == "name" ? "name = \"full gain\", to call it by"
                                                 : "measure = \"gain\", what is limited"));
        } else if (auto text = read_text(member->value, "limit." + key, out);
                   text && key == "name") {
            limit.name = *text;
        }
    }
    // A list of names is left to `check`, with all that depends on the measure.
    if (const Member* variant = find(*table, "variant"); variant && !variant->value.array()) {
        const auto name = read_text(variant->value, "limit.variant", out);
        if (name && *name != "plain" && !find_variant(board, *name)) {
            out.push_back(unknown_name(variant->value.at, "unknown-variant", "limit.variant",
                                       "variant", *name, variant_names(board)));
        }
    }
    if (!find(*table, "min") && !find(*table, "max") && !find(*table, "mask")) {
        out.push_back(error_at(node.at, "missing-key", "limit", "neither 'min' nor 'max' is given",
                               "min or max, or both, or a mask"));
    }
    reject_duplicate(limit, board, out);
    reject_unknown_keys(*table,
                        {"name", "measure", "at", "from", "to", "knob", "variant", "capsule",
                         "part", "min", "max", "mask"},
                        "limit", out);
    board.limits.push_back(std::move(limit));
}

}  // namespace

void read_limit_entries(const Node::Table& tables, Board& board, Diagnostics& out) {
    const Member* limits = find(tables, "limit");
    const Node::Array* list =
        limits ? read_list(limits->value, "limit", out, "[[limit]], in two brackets") : nullptr;
    if (!list) return;
    for (const Node& node : *list) read_limit(node, board, out);
}

}  // namespace lowhiss
