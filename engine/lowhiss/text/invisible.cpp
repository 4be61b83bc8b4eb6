#include "lowhiss/text/invisible.hpp"

#include <fmt/format.h>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/utf8.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

void check_text(std::string_view text, bool prose, const Position& at, Diagnostics& out) {
    for (std::string_view rest = text; !rest.empty();) {
        const char32_t c = take_code_point(rest);
        const bool allowed = prose && (c == '\n' || c == '\t' || !is_control(c));
        if (allowed || !is_invisible(c)) continue;
        out.push_back(error_at(at, "invisible-character", "",
                               fmt::format("{} contains the invisible character U+{:04X}",
                                           quote(text), static_cast<unsigned>(c)),
                               "visible characters and plain spaces", "delete it"));
        return;
    }
}

void check_value(const Node& node, bool prose, Diagnostics& out) {
    if (const std::string* text = node.text()) check_text(*text, prose, node.at, out);
    if (const Node::Table* table = node.table()) reject_invisible(*table, out);
    if (const Node::Array* list = node.array()) {
        for (const Node& item : *list) check_value(item, prose, out);
    }
}

}  // namespace

void reject_invisible(const Node::Table& table, Diagnostics& out) {
    for (const Member& member : table) {
        check_text(member.key, false, member.at, out);
        const bool prose =
            member.key == "note" || member.key == "source" || member.key == "summary";
        check_value(member.value, prose, out);
    }
}

}  // namespace lowhiss
