#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr std::string_view accept_subject = "accept";

class AcceptReader {
  public:
    AcceptReader(const BoardDraft& draft, const Node::Table& keys, const Position& at)
        : draft_(draft), out_(draft.out), keys_(keys) {
        accepted_.at = at;
    }

    void read() {
        reject_unknown_keys(keys_, {"fault", "part", "why", "variant"}, std::string(accept_subject),
                            out_);
        const bool fault = read_fault();
        const bool part = read_part();
        accepted_.why = text("why", "why = \"C3 is a bipolar type\"").value_or("");
        read_variants();
        if (fault && part && !accepted_.why.empty()) draft_.board.accepted.push_back(accepted_);
    }

  private:
    static std::string subject(std::string_view key) {
        return fmt::format("{}.{}", accept_subject, key);
    }

    std::optional<std::string> text(const std::string& key, std::string example) {
        if (const Member* member = find(keys_, key)) {
            return read_text(member->value, subject(key), out_);
        }
        out_.push_back(error_at(accepted_.at, "missing-key", std::string(accept_subject),
                                fmt::format("'{}' is missing", key), std::move(example)));
        return std::nullopt;
    }

    bool read_fault() {
        const auto name = text("fault", "fault = \"reversed\", a name of the table of faults");
        if (!name) return false;
        std::vector<std::string> known;
        for (const FaultSchema& schema : fault_schemas()) {
            known.emplace_back(schema.name);
            if (schema.name != *name) continue;
            accepted_.fault = schema.kind;
            return true;
        }
        out_.push_back(unknown_name(find(keys_, "fault")->value.at, "unknown-fault",
                                    subject("fault"), "fault", *name, known));
        return false;
    }

    bool read_part() {
        const auto name = text("part", "part = \"C3\"");
        if (!name) return false;
        accepted_.part = *name;
        std::vector<std::string> known = part_names(draft_.board);
        if (find(draft_.tables, "feed") != nullptr) known.emplace_back(feed_part);
        if (std::find(known.begin(), known.end(), *name) != known.end()) return true;
        report_unknown_part(draft_, find(keys_, "part")->value.at, subject("part"), "part", *name,
                            known);
        return false;
    }

    void read_variants() {
        const Member* member = find(keys_, "variant");
        if (!member) return;
        std::vector<std::string> known{std::string(plain_variant)};
        for (const Variant& variant : draft_.board.variants) known.push_back(variant.name);
        const Node::Array* list = member->value.array();
        for (const Node& node :
             list ? std::span<const Node>(*list) : std::span(&member->value, 1)) {
            const auto name = read_text(node, subject("variant"), out_);
            if (!name) continue;
            accepted_.variants.push_back(*name);
            if (std::find(known.begin(), known.end(), *name) != known.end()) continue;
            out_.push_back(unknown_name(node.at, "unknown-variant", subject("variant"), "variant",
                                        *name, known));
        }
    }

    const BoardDraft& draft_;
    Diagnostics& out_;
    const Node::Table& keys_;
    AcceptedFault accepted_{};
};

}  // namespace

void read_accepted_faults(BoardDraft& draft) {
    const Member* member = find(draft.tables, std::string(accept_subject));
    const Node::Array* list = member ? read_list(member->value, std::string(accept_subject),
                                                 draft.out, "[[accept]], in two brackets")
                                     : nullptr;
    if (!list) return;
    for (const Node& node : *list) {
        const Node::Table* keys = read_table(node, std::string(accept_subject), draft.out);
        if (keys) AcceptReader(draft, *keys, node.at).read();
    }
}

}  // namespace lowhiss
