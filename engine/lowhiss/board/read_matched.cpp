#include "lowhiss/board/read_matched.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

class MatchedReader {
  public:
    MatchedReader(const Node::Table* part_entries, Board& board, Diagnostics& out)
        : part_entries_(part_entries), board_(board), out_(out) {}

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
        for (const Node& node : list ? *list : Node::Array{}) read_part(node, group);
        reject_unknown_keys(*table, {"parts", "within"}, subject, out_);
        board_.matched.push_back(std::move(group));
    }

  private:
    void read_part(const Node& node, Matched& group) {
        const std::string subject = "matched." + group.name;
        const auto name = read_text(node, subject + ".parts", out_);
        if (!name) return;
        if (part_entries_ && !find(*part_entries_, *name)) {
            std::vector<std::string> known;
            for (const Part& part : board_.parts) known.push_back(part.name);
            out_.push_back(unknown_name(node.at, "unknown-part", subject, "part", *name, known));
        }
        for (const Matched& other : board_.matched) {
            const auto& taken = other.parts;
            if (std::find(taken.begin(), taken.end(), *name) == taken.end()) continue;
            out_.push_back(error_at(
                node.at, "matched-twice", subject,
                fmt::format("{} is in the group {} already", quote(*name), quote(other.name)),
                "each part in one group"));
        }
        const Part* part = find_part(board_, *name);
        if (part != nullptr && tolerance_of(*part).low - group.within < -1) {
            out_.push_back(error_at(node.at, "vanishing-value", subject,
                                    fmt::format("{} may stray to nothing and beyond: the low end "
                                                "of its tolerance less 'within' is under -100 %",
                                                quote(*name)),
                                    "a smaller tolerance or 'within'"));
        }
        group.parts.push_back(*name);
    }

    const Node::Table* part_entries_;
    Board& board_;
    Diagnostics& out_;
};

}  // namespace

void read_matched_groups(const Node::Table& tables, const Node::Table* part_entries, Board& board,
                         Diagnostics& out) {
    const Member* matched = find(tables, "matched");
    const Node::Table* table = matched ? read_table(matched->value, "matched", out) : nullptr;
    if (!table) return;
    MatchedReader reader(part_entries, board, out);
    for (const Member& entry : *table) reader.read(entry);
}

}  // namespace lowhiss
