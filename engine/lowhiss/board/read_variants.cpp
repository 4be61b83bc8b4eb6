#include "lowhiss/board/readers.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

void read_change(const BoardDraft& draft, const Member& change, const std::string& subject,
                 Variant& variant) {
    if (const Part* part = find_part(draft.board, change.key)) {
        variant.changed.push_back(changed_part(draft, *part, change));
    } else {
        report_unknown_part(draft, change.at, subject + ".set", "part", change.key,
                            part_names(draft.board));
    }
}

void read_variant_feed(const BoardDraft& draft, const Node& value, const std::string& subject,
                       Variant& variant) {
    const std::string* text = value.text();
    variant.without_feed = text != nullptr && *text == "none";
    if (!variant.without_feed) variant.feed = changed_feed(draft, value, subject + ".feed");
}

void fill_variant(const BoardDraft& draft, const Node::Table& table, const std::string& subject,
                  Variant& variant) {
    if (const Member* summary = find(table, "summary")) {
        variant.summary = read_text(summary->value, subject + ".summary", draft.out).value_or("");
    }
    if (const Member* capsule = find(table, "capsule")) {
        variant.capsule = read_capsule_name(draft, *capsule, subject + ".capsule");
    }
    const Member* set = find(table, "set");
    const Node::Table* changes =
        set ? read_table(set->value, subject + ".set", draft.out) : nullptr;
    if (changes) {
        for (const Member& change : *changes) read_change(draft, change, subject, variant);
    }
    if (const Member* feed = find(table, "feed")) {
        read_variant_feed(draft, feed->value, subject, variant);
    }
    reject_unknown_keys(table, {"summary", "capsule", "feed", "set"}, subject, draft.out);
}

void reject_reserved_name(const BoardDraft& draft, const Member& entry,
                          const std::string& subject) {
    const bool all = entry.key == "all";
    if (!all && entry.key != plain_variant) return;
    draft.out.push_back(error_at(
        entry.at, "reserved-name", subject,
        all ? "'all' stands for every variant" : "'plain' stands for the board without a variant",
        "another name"));
}

}  // namespace

void read_variants(BoardDraft& draft) {
    const Node::Table* table = section_of(draft, "variants");
    if (!table) return;
    for (const Member& entry : *table) {
        const std::string subject = "variants." + entry.key;
        reject_reserved_name(draft, entry, subject);
        Variant& variant = draft.board.variants.emplace_back();
        variant.name = entry.key;
        const Node::Table* keys = read_table(entry.value, subject, draft.out);
        if (keys) fill_variant(draft, *keys, subject, variant);
    }
}

}  // namespace lowhiss
