#include "write/changes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

namespace lowhiss::cli {
namespace {

std::vector<std::string> items_of(const std::string& text) {
    constexpr std::string_view comma = ", ";
    std::vector<std::string> items;
    std::size_t begin = 0;
    for (std::size_t end = text.find(comma); end != std::string::npos;
         end = text.find(comma, begin)) {
        items.push_back(text.substr(begin, end - begin));
        begin = end + comma.size();
    }
    items.push_back(text.substr(begin));
    return items;
}

/// The figures of a line that the other does not have as well.
std::string items_beyond(const std::string& text, const std::string& other) {
    const std::vector<std::string> known = items_of(other);
    std::string beyond;
    for (const std::string& item : items_of(text)) {
        if (std::find(known.begin(), known.end(), item) != known.end()) continue;
        beyond += (beyond.empty() ? "" : ", ") + item;
    }
    return beyond.empty() ? "nothing" : beyond;
}

}  // namespace

std::string change_text(const BoardChange& change) {
    const std::string head = fmt::format("{} {}", change.name, text_of(change.kind));
    if (change.before.empty()) return fmt::format("{}: {}", head, change.after);
    if (change.after.empty()) return fmt::format("{}: {}", head, change.before);
    if (change.kind == BoardChange::Kind::rewired) {
        return fmt::format("{}: {} -> {}", head, change.before, change.after);
    }
    return fmt::format("{}: {} -> {}", head, items_beyond(change.before, change.after),
                       items_beyond(change.after, change.before));
}

}  // namespace lowhiss::cli
