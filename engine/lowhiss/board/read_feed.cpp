#include <algorithm>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

/// Null after a mistake, which is reported.
const Feed* standard_of(const Node::Table& table, const Position& at, Diagnostics& out) {
    std::vector<std::string> known;
    for (const Feed& feed : standard_feeds()) known.push_back(feed.standard);
    const Member* standard = find(table, "standard");
    if (!standard) {
        out.push_back(error_at(at, "missing-key", "feed", "'standard' is missing",
                               "standard = one of " + listed(known)));
        return nullptr;
    }
    const auto name = read_text(standard->value, "feed.standard", out);
    if (!name) return nullptr;
    const auto found = std::find(known.begin(), known.end(), *name);
    if (found != known.end()) {
        return &standard_feeds()[static_cast<std::size_t>(found - known.begin())];
    }
    out.push_back(unknown_name(standard->value.at, "unknown-feed", "feed.standard", "feed standard",
                               *name, known));
    return nullptr;
}

}  // namespace

Feed read_feed_figures(const Node::Table& table, const Position& at, Diagnostics& out) {
    const Feed* standard = standard_of(table, at, out);
    Feed feed = standard ? *standard : Feed{};
    feed.at = at;
    std::vector<std::string> accepted{"standard", "plus", "minus", "return"};
    read_fields(table, feed_fields(), feed, "feed", at, false, accepted, out);
    reject_unknown_keys(table, accepted, "feed", out);
    return feed;
}

}  // namespace lowhiss
