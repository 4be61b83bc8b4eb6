#include <algorithm>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

std::vector<std::string> standard_names() {
    std::vector<std::string> names;
    for (const Feed& feed : standard_feeds()) names.push_back(feed.standard);
    return names;
}

/// The feed of a standard; null after a mistake, which is reported.
const Feed* standard_named(const Node& name, const std::string& subject,
                           const std::vector<std::string>& accepted, Diagnostics& out) {
    const auto text = read_text(name, subject, out);
    if (!text) return nullptr;
    const auto feeds = standard_feeds();
    const auto found = std::find_if(feeds.begin(), feeds.end(),
                                    [&](const Feed& feed) { return feed.standard == *text; });
    if (found != feeds.end()) return &*found;
    out.push_back(unknown_name(name.at, "unknown-feed", subject, "feed standard", *text, accepted));
    return nullptr;
}

/// Null after a mistake, which is reported.
const Feed* standard_of(const Node::Table& table, const Position& at, Diagnostics& out) {
    const std::vector<std::string> known = standard_names();
    if (const Member* standard = find(table, "standard")) {
        return standard_named(standard->value, "feed.standard", known, out);
    }
    out.push_back(error_at(at, "missing-key", "feed", "'standard' is missing",
                           "standard = one of " + listed(known)));
    return nullptr;
}

/// The board's feed with another standard's figures, or with its own, which a table may change.
std::optional<Feed> feed_with(const BoardDraft& draft, const Node& value,
                              const std::string& subject) {
    const Feed& own = *draft.board.feed;
    std::vector<std::string> known = standard_names();
    const Node::Table* table = value.table();
    const Member* standard = table ? find(*table, "standard") : nullptr;
    if (!table) known.emplace_back("none");
    Feed feed = own;
    if (!table || standard) {
        const Feed* named =
            standard_named(standard ? standard->value : value,
                           standard ? subject + ".standard" : subject, known, draft.out);
        if (!named) return std::nullopt;
        feed = *named;
        feed.plus = own.plus;
        feed.minus = own.minus;
        feed.ret = own.ret;
    }
    feed.at = value.at;
    if (!table) return feed;
    std::vector<std::string> accepted{"standard"};
    read_fields(*table, feed_fields(), feed, subject, value.at, true, accepted, draft.out);
    reject_unknown_keys(*table, accepted, subject, draft.out);
    return feed;
}

}  // namespace

std::optional<Feed> changed_feed(const BoardDraft& draft, const Node& value,
                                 const std::string& subject) {
    if (draft.board.feed) return feed_with(draft, value, subject);
    if (find(draft.tables, "feed")) return std::nullopt;  // its mistake is reported there
    draft.out.push_back(error_at(value.at, "bad-feed", subject,
                                 "the board has no phantom feed that a variant could change",
                                 "a [feed] of the board, with its plus and minus nodes",
                                 "give the board its [feed], and variants without one "
                                 "feed = \"none\""));
    return std::nullopt;
}

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
