#include "lowhiss/choose/value_set.hpp"

#include <algorithm>

#include "lowhiss/board/schema.hpp"

namespace lowhiss {
namespace {

Node text_node(const std::string& text) {
    return {text, {}};
}

/// The line of a part with another main value.
Member entry_with(const OpenValue::Member& member, const std::string& keyword,
                  const std::string& value) {
    Node::Table entry = member.entry;
    if (Member* main = find(entry, keyword)) main->value = text_node(value);
    return {member.part, {}, {std::move(entry), {}}};
}

}  // namespace

ValueSet value_set(const Choose& choose, std::uint64_t number) {
    ValueSet values(choose.open.size());
    for (std::size_t k = choose.open.size(); k-- > 0;) {
        const std::uint64_t count = choose.open[k].values.size();
        values[k] = static_cast<std::uint32_t>(number % count);
        number /= count;
    }
    return values;
}

std::uint64_t number_of(const Choose& choose, const ValueSet& values) {
    std::uint64_t number = 0;
    for (std::size_t k = 0; k < values.size(); ++k) {
        number = number * choose.open[k].values.size() + values[k];
    }
    return number;
}

Board board_with_values(const Board& board, const ValueSet& values) {
    Board changed = board;
    const auto part_of = [](std::vector<Part>& parts, const std::string& name) {
        return std::find_if(parts.begin(), parts.end(),
                            [&](const Part& part) { return part.name == name; });
    };
    for (std::size_t k = 0; k < values.size(); ++k) {
        const OpenValue& open = board.choose->open[k];
        const PartData& data = open.data[values[k]];
        for (const OpenValue::Member& member : open.parts) {
            take_main_value(data, *part_of(changed.parts, member.part));
            const auto& own = member.own_variants;
            for (Variant& variant : changed.variants) {
                const auto part = part_of(variant.changed, member.part);
                const bool sets_it = std::find(own.begin(), own.end(), variant.name) != own.end();
                if (part != variant.changed.end() && !sets_it) take_main_value(data, *part);
            }
        }
    }
    return changed;
}

std::string revision_text(const Board& board, const ValueSet& values, const std::string& based_on) {
    Node::Table head;
    head.push_back({"based_on", {}, text_node(based_on)});
    head.push_back({"revision",
                    {},
                    text_node(board.revision.empty() ? "chosen" : board.revision + ", chosen")});
    Node::Table parts;
    for (std::size_t k = 0; k < values.size(); ++k) {
        const OpenValue& open = board.choose->open[k];
        for (const OpenValue::Member& member : open.parts) {
            const std::string keyword(schema_of(*find_part(board, member.part)).keyword);
            parts.push_back(entry_with(member, keyword, open.values[values[k]]));
        }
    }
    Node::Table root;
    root.push_back({"board", {}, {std::move(head), {}}});
    root.push_back({"parts", {}, {std::move(parts), {}}});
    return document_text(root);
}

}  // namespace lowhiss
