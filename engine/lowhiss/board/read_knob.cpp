#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

class KnobReader {
  public:
    explicit KnobReader(const BoardDraft& draft) : draft_(draft), out_(draft.out) {}

    Knob read(const Node::Table& table, const Position& at) {
        if (const Member* part = find(table, "part")) {
            read_parts(part->value);
        } else if (const Member* parts = find(table, "parts")) {
            out_.push_back(error_at(parts->at, "unknown-key", "knob", "unknown key 'parts'",
                                    "part = \"RV1\", or a list of ganged parts",
                                    "did you mean 'part'?"));
        } else {
            out_.push_back(
                error_at(at, "missing-key", "knob", "'part' is missing", "part = \"RV1\""));
        }
        read_positions(table);
        Node::Table rest = table;
        if (!find(table, "part")) {
            std::erase_if(rest, [](const Member& member) { return member.key == "parts"; });
        }
        reject_unknown_keys(rest, {"part", "positions"}, "knob", out_);
        return std::move(knob_);
    }

  private:
    std::vector<std::string> potentiometers() const {
        std::vector<std::string> names;
        for (const Part& part : draft_.board.parts) {
            if (std::holds_alternative<Potentiometer>(part.data)) names.push_back(part.name);
        }
        return names;
    }

    void reject_empty_list(const Node& list, std::string subject, std::string accepted) {
        out_.push_back(error_at(list.at, "empty-list", std::move(subject), "the list is empty",
                                std::move(accepted)));
    }

    void read_parts(const Node& value) {
        const Node::Array* gang = value.array();
        if (!gang) return read_part_name(value);
        if (gang->empty()) reject_empty_list(value, "knob.part", "potentiometers");
        for (const Node& node : *gang) read_part_name(node);
    }

    void read_part_name(const Node& node) {
        const auto name = read_text(node, "knob.part", out_);
        if (!name) return;
        const Part* part = find_part(draft_.board, *name);
        if (!part) {
            report_unknown_part(draft_, node.at, "knob.part", "potentiometer", *name,
                                potentiometers());
        } else if (!std::holds_alternative<Potentiometer>(part->data)) {
            out_.push_back(
                error_at(node.at, "knob-not-potentiometer", "knob.part",
                         fmt::format("{} is a {}", quote(*name), schema_of(*part).keyword),
                         "a potentiometer"));
        } else if (std::find(knob_.parts.begin(), knob_.parts.end(), *name) != knob_.parts.end()) {
            out_.push_back(error_at(node.at, "part-twice", "knob.part",
                                    fmt::format("{} is in the list already", quote(*name)),
                                    "each potentiometer once", "delete one of them"));
        } else {
            knob_.parts.push_back(*name);
        }
    }

    void read_positions(const Node::Table& table) {
        const Member* member = find(table, "positions");
        if (!member) {
            knob_.positions = {0, 0.25, 0.5, 0.75, 1};
            return;
        }
        const Node::Array* list =
            read_list(member->value, "knob.positions", out_, "a list: [0, 0.5, 1]");
        if (!list) return;
        if (list->empty()) {
            reject_empty_list(member->value, "knob.positions", "rotations from 0 to 1");
        }
        for (const Node& node : *list) read_position(node);
    }

    void read_position(const Node& node) {
        const auto position =
            read_figure(node, Unit::fraction, Range::zero_to_one, "knob.positions", out_);
        if (!position) return;
        auto& known = knob_.positions;
        if (std::find(known.begin(), known.end(), *position) != known.end()) {
            out_.push_back(error_at(node.at, "duplicate-position", "knob.positions",
                                    "this rotation is in the list already", "each rotation once",
                                    "delete one of them"));
        }
        known.push_back(*position);
    }

    const BoardDraft& draft_;
    Diagnostics& out_;
    Knob knob_;
};

}  // namespace

void read_knob(BoardDraft& draft) {
    const Node::Table* table = section_of(draft, "knob");
    if (!table) return;
    Knob knob = KnobReader(draft).read(*table, find(draft.tables, "knob")->at);
    if (!knob.parts.empty()) draft.board.knob = std::move(knob);
}

}  // namespace lowhiss
