#include "lowhiss/board/board_diff.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>
#include <tuple>

namespace lowhiss {
namespace {

using Lines = std::span<const BoardLine>;
using NodeMap = std::map<std::string, std::string>;

const BoardLine* find_line(Lines lines, std::string_view name) {
    const auto found = std::find_if(lines.begin(), lines.end(),
                                    [&](const BoardLine& line) { return line.name == name; });
    return found == lines.end() ? nullptr : &*found;
}

/// For each node of the board before, the node of the board after that shares most pins with it. A
/// node that has kept its name and a pin is the same node.
NodeMap matched_nodes(Lines before, Lines after) {
    std::map<std::pair<std::string, std::string>, int> votes;
    for (const BoardLine& line : after) {
        const BoardLine* earlier = find_line(before, line.name);
        if (!earlier || earlier->nodes.size() != line.nodes.size()) continue;
        for (std::size_t k = 0; k < line.nodes.size(); ++k) {
            ++votes[{earlier->nodes[k], line.nodes[k]}];
        }
    }
    std::vector<std::tuple<bool, int, std::string, std::string>> ranked;
    ranked.reserve(votes.size());
    for (const auto& [pair, count] : votes) {
        ranked.emplace_back(pair.first != pair.second, -count, pair.first, pair.second);
    }
    std::sort(ranked.begin(), ranked.end());
    NodeMap matched;
    std::set<std::string> taken;
    for (const auto& [renamed, rank, from, to] : ranked) {
        if (!matched.contains(from) && taken.insert(to).second) matched[from] = to;
    }
    return matched;
}

bool follows(const BoardLine& before, const BoardLine& after, const NodeMap& nodes) {
    const auto goes_to = [&](const std::string& from, const std::string& to) {
        const auto match = nodes.find(from);
        return match != nodes.end() && match->second == to;
    };
    if (std::equal(before.nodes.begin(), before.nodes.end(), after.nodes.begin(), after.nodes.end(),
                   goes_to)) {
        return true;
    }
    return after.reversible && std::equal(before.nodes.begin(), before.nodes.end(),
                                          after.nodes.rbegin(), after.nodes.rend(), goes_to);
}

std::string nodes_text(const BoardLine& line) {
    return fmt::format("{}", fmt::join(line.nodes, ", "));
}

}  // namespace

std::string_view text_of(BoardChange::Kind kind) {
    static constexpr std::array<std::string_view, 4> words{"added", "removed", "changed",
                                                           "rewired"};
    return words[static_cast<std::size_t>(kind)];
}

std::vector<BoardChange> board_changes(Lines before, Lines after) {
    using Kind = BoardChange::Kind;
    const NodeMap nodes = matched_nodes(before, after);
    std::vector<BoardChange> changes;
    for (const BoardLine& line : after) {
        const BoardLine* earlier = find_line(before, line.name);
        if (!earlier) {
            changes.push_back({Kind::added, line.name, "", line.text});
            continue;
        }
        if (earlier->text != line.text) {
            changes.push_back({Kind::changed, line.name, earlier->text, line.text});
        }
        if (!follows(*earlier, line, nodes)) {
            changes.push_back({Kind::rewired, line.name, nodes_text(*earlier), nodes_text(line)});
        }
    }
    for (const BoardLine& line : before) {
        if (find_line(after, line.name)) continue;
        changes.push_back({Kind::removed, line.name, line.text, ""});
    }
    return changes;
}

}  // namespace lowhiss
