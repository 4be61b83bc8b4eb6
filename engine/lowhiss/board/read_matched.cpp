#include "lowhiss/board/readers.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/phrase.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

class MatchedReader {
  public:
    explicit MatchedReader(BoardDraft& draft)
        : draft_(draft), board_(draft.board), out_(draft.out) {}

    void read(const Member& entry) {
        const std::string subject = "matched." + entry.key;
        const Node::Table* table = read_table(entry.value, subject, out_);
        if (!table) return;
        Matched group{entry.key, {}, 0};
        const Member* parts = find(*table, "parts");
        const Member* within = find(*table, "within");
        if (!parts || !within) {
            out_.push_back(error_at(entry.at, "missing-key", subject,
                                    parts ? "'within' is missing" : "'parts' is missing",
                                    R"({ parts = ["R1", "R2"], within = "0.1 %" })"));
        }
        if (within) {
            group.within = read_figure(within->value, Unit::fraction, Range::zero_to_one,
                                       subject + ".within", out_)
                               .value_or(0);
        }
        const Node::Array* list =
            parts ? read_list(parts->value, subject + ".parts", out_, R"(a list: ["R1", "R2"])")
                  : nullptr;
        for (const Node& node : list ? *list : Node::Array{}) read_part_name(node, group);
        if (list && list->size() < 2) {
            out_.push_back(
                error_at(parts->value.at, "matched-alone", subject + ".parts",
                         list->empty() ? "the list is empty" : "a matched group of one part",
                         R"(two parts or more: ["R1", "R2"])"));
        }
        reject_unknown_keys(*table, {"parts", "within"}, subject, out_);
        board_.matched.push_back(std::move(group));
    }

  private:
    void read_part_name(const Node& node, Matched& group) {
        const std::string subject = "matched." + group.name;
        const auto name = read_text(node, subject + ".parts", out_);
        if (!name) return;
        report_unknown_part(draft_, node.at, subject, "part", *name, part_names(board_));
        if (std::find(group.parts.begin(), group.parts.end(), *name) != group.parts.end()) {
            out_.push_back(error_at(node.at, "part-twice", subject,
                                    fmt::format("{} is in the list already", quote(*name)),
                                    "each part once", "delete one of them"));
        }
        for (const Matched& other : board_.matched) {
            const auto& taken = other.parts;
            if (std::find(taken.begin(), taken.end(), *name) == taken.end()) continue;
            out_.push_back(error_at(
                node.at, "matched-twice", subject,
                fmt::format("{} is already in the group {}", quote(*name), quote(other.name)),
                "each part in at most one group"));
        }
        const Part* part = find_part(board_, *name);
        const bool is_transistor =
            part != nullptr && (std::holds_alternative<Bipolar>(part->data) ||
                                std::holds_alternative<Jfet>(part->data));
        if (part != nullptr && !has_tolerance(*part) && !is_transistor) {
            out_.push_back(
                error_at(node.at, "matched-without-value", subject,
                         fmt::format("{} is {} and has no value to match", quote(*name),
                                     with_article(schema_of(*part).keyword)),
                         "resistors, capacitors, inductors, potentiometers and transistors"));
        }
        if (part != nullptr && tolerance_of(*part).low - group.within < -1) {
            out_.push_back(
                error_at(node.at, "vanishing-value", subject,
                         fmt::format("the value of {} may fall below zero: the low end of "
                                     "its tolerance less 'within' is under -100 %",
                                     quote(*name)),
                         "a smaller tolerance or 'within'"));
        }
        group.parts.push_back(*name);
    }

    const BoardDraft& draft_;
    Board& board_;
    Diagnostics& out_;
};

}  // namespace

void read_matched_groups(BoardDraft& draft) {
    const Node::Table* table = section_of(draft, "matched");
    if (!table) return;
    MatchedReader reader(draft);
    for (const Member& entry : *table) reader.read(entry);
}

}  // namespace lowhiss
