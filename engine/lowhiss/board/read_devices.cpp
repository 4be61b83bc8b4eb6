#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr const char* pin_number_text = "the number of a pin: 3, or a text such as \"A1\"";

/// The number of a pin, which may be a text: "A1".
std::optional<std::string> read_pin_number(const Node& node, const std::string& subject,
                                           Diagnostics& out) {
    if (const auto* whole = std::get_if<std::int64_t>(&node.value)) return std::to_string(*whole);
    if (node.text() && !node.text()->empty()) return *node.text();
    out.push_back(
        error_at(node.at, "bad-pin-number", subject,
                 node.text() ? "the text is empty" : fmt::format("this is {}", kind_of(node)),
                 pin_number_text));
    return std::nullopt;
}

std::optional<std::pair<std::string, std::string>> read_device_pin(const Node& node,
                                                                   const std::string& subject,
                                                                   Diagnostics& out) {
    const auto text = read_text(node, subject, out);
    if (!text) return std::nullopt;
    if (auto pin = device_and_pin(*text)) return pin;
    out.push_back(error_at(node.at, "bad-device-pin", subject,
                           fmt::format("{} is not a pin of a device", quote(*text)),
                           "designator and pin with a point between them: \"J1.2\""));
    return std::nullopt;
}

/// The keys that number a pin in any pinout: those of op-amps and preamp ICs.
std::vector<PinGroup> pinout_groups() {
    std::vector<PinGroup> groups;
    for (const PartSchema& schema : part_schemas()) {
        if (schema.keyword != "opamp" && schema.keyword != "preamp_ic") continue;
        for (const PinGroup& group : schema.pins) {
            const bool known = std::any_of(groups.begin(), groups.end(),
                                           [&](const auto& g) { return g.key == group.key; });
            if (!known) groups.push_back(group);
        }
    }
    return groups;
}

/// The pin of a part by the word for it: its key, or ccw, wiper and cw.
std::optional<std::size_t> pin_index(const Part& part, std::string_view word) {
    constexpr auto track = std::to_array<std::string_view>({"ccw", "wiper", "cw"});
    if (std::holds_alternative<Potentiometer>(part.data)) {
        const auto end = std::find(std::begin(track), std::end(track), word);
        if (end != std::end(track)) return static_cast<std::size_t>(end - std::begin(track));
    }
    std::size_t index = 0;
    for (const PinGroup& group : schema_of(part).pins) {
        if (group.key == word && group.count == 1) return index;
        index += static_cast<std::size_t>(group.count);
    }
    return std::nullopt;
}

std::vector<std::string> pin_words(const Part& part) {
    if (std::holds_alternative<Potentiometer>(part.data)) return {"ccw", "wiper", "cw"};
    std::vector<std::string> words;
    for (const PinGroup& group : schema_of(part).pins) {
        if (group.count == 1) words.emplace_back(group.key);
    }
    return words;
}

/// The pinout that the part's model names; empty if it names none.
std::string pinout_name(const Part& part, const Models& models) {
    const auto named_by = [&](const auto& known, const std::string& model) {
        const auto found = known.find(model);
        return found == known.end() ? std::string() : found->second.pinout;
    };
    if (const auto* opamp = std::get_if<OpAmp>(&part.data)) {
        return named_by(models.opamps, opamp->model);
    }
    if (const auto* ic = std::get_if<PreampIc>(&part.data)) {
        return named_by(models.preamp_ics, ic->model);
    }
    return "";
}

class OffBoardReader {
  public:
    explicit OffBoardReader(BoardDraft& draft)
        : board_(draft.board), draft_(draft), out_(draft.out) {}

    void read(const Node::Table& table) {
        for (const Member& member : table) {
            const std::string subject = "off_board." + member.key;
            if (member.key == "input") {
                read_terminals(member.value, subject,
                               {{"plus", board_.input.plus}, {"minus", board_.input.minus}});
            } else if (member.key == "output") {
                read_terminals(member.value, subject,
                               {{"plus", board_.output.plus}, {"minus", board_.output.minus}});
            } else if (member.key == "feed" && board_.feed) {
                read_terminals(member.value, subject,
                               {{"plus", board_.feed->plus},
                                {"minus", board_.feed->minus},
                                {"return", board_.feed->ret}});
            } else if (const Part* part = find_part(board_, member.key)) {
                read_part_pins(member.value, subject, *part);
            } else {
                std::vector<std::string> known = part_names(board_);
                known.insert(known.begin(), {"input", "output"});
                report_unknown_part(draft_, member.at, "off_board", "part or terminal", member.key,
                                    known);
            }
        }
    }

  private:
    using Terminals = std::vector<std::pair<std::string, Pin>>;

    void read_terminals(const Node& value, const std::string& subject, const Terminals& terminals) {
        const Node::Table* keys = read_table(value, subject, out_, R"({ plus = "J1.2" })");
        if (!keys) return;
        std::vector<std::string> accepted;
        for (const auto& [key, pin] : terminals) {
            accepted.push_back(key);
            const Member* member = find(*keys, key);
            if (member)
                add(member->value, fmt::format("{}.{}", subject, key),
                    {"", 0, pin.node, "", "", {}});
        }
        reject_unknown_keys(*keys, accepted, subject, out_);
    }

    void read_part_pins(const Node& value, const std::string& subject, const Part& part) {
        if (const Node::Array* list = value.array()) {
            if (list->size() == part.pins.size()) {
                for (std::size_t k = 0; k < list->size(); ++k) {
                    add((*list)[k], subject, {part.name, k, "", "", "", {}});
                }
                return;
            }
            out_.push_back(
                error_at(value.at, "wrong-pin-count", subject,
                         fmt::format("{} has {} pins, and this list {}", part.name,
                                     part.pins.size(), list->size()),
                         "one pin of a device for each pin of the part, in their order"));
            return;
        }
        const Node::Table* keys =
            read_table(value, subject, out_, R"(a list, ["J4.1", "J4.2"], or a table by pins)");
        if (!keys) return;
        for (const Member& member : *keys) {
            const auto index = pin_index(part, member.key);
            if (index) {
                add(member.value, subject + "." + member.key, {part.name, *index, "", "", "", {}});
            } else {
                out_.push_back(unknown_name(member.at, "unknown-key", subject, "pin", member.key,
                                            pin_words(part)));
            }
        }
    }

    void add(const Node& value, const std::string& subject, OffBoard place) {
        const auto pin = read_device_pin(value, subject, out_);
        if (!pin) return;
        std::tie(place.device, place.number) = *pin;
        place.at = value.at;
        board_.off_board.push_back(std::move(place));
    }

    Board& board_;
    BoardDraft& draft_;
    Diagnostics& out_;
};

}  // namespace

const Pinout* pinout_of(const Part& part, const Models& models) {
    const auto found = models.pinouts.find(pinout_name(part, models));
    return found == models.pinouts.end() ? nullptr : &found->second;
}

void read_pin_numbers(const Node::Table& table, std::span<const PinGroup> pins,
                      const std::string& subject, std::vector<PinNumbers>& numbers,
                      Diagnostics& out) {
    std::vector<std::string> accepted;
    for (const PinGroup& group : pins) {
        const std::string key(group.key);
        accepted.push_back(key);
        const Member* member = find(table, key);
        if (!member) continue;
        const std::string inner = fmt::format("{}.{}", subject, key);
        PinNumbers read{key, {}};
        if (group.count == 1) {
            if (auto number = read_pin_number(member->value, inner, out)) {
                read.numbers.push_back(*std::move(number));
            }
        } else {
            const std::string list = fmt::format("a list of {} pin numbers", group.count);
            const Node::Array* nodes = read_list(member->value, inner, out, list);
            if (!nodes) continue;
            if (nodes->size() != static_cast<std::size_t>(group.count)) {
                out.push_back(error_at(member->value.at, "wrong-pin-count", inner,
                                       fmt::format("this list has {} entr{}, not {}", nodes->size(),
                                                   nodes->size() == 1 ? "y" : "ies", group.count),
                                       list));
                continue;
            }
            for (const Node& node : *nodes) {
                if (auto number = read_pin_number(node, inner, out)) {
                    read.numbers.push_back(*std::move(number));
                }
            }
        }
        if (read.numbers.size() == static_cast<std::size_t>(group.count)) {
            numbers.push_back(std::move(read));
        }
    }
    reject_unknown_keys(table, accepted, subject, out);
}

Pinout read_pinout(const Node::Table& table, const Position& at, const std::string& subject,
                   Diagnostics& out) {
    Pinout pinout;
    pinout.at = at;
    const std::vector<PinGroup> groups = pinout_groups();
    Node::Table common = table;
    std::erase_if(common, [](const Member& m) { return m.key == "units" || m.key == "source"; });
    read_pin_numbers(common, groups, subject, pinout.common, out);
    if (const Member* source = find(table, "source")) {
        read_text(source->value, subject + ".source", out);
    }
    const Member* units = find(table, "units");
    const Node::Table* named =
        units ? read_table(units->value, subject + ".units", out,
                           "a table such as { A = { out = 1, minus = 2, plus = 3 } }")
              : nullptr;
    if (!named) return pinout;
    for (const Member& unit : *named) {
        const std::string inner = fmt::format("{}.units.{}", subject, unit.key);
        const Node::Table* keys = read_table(unit.value, inner, out);
        if (keys) read_pin_numbers(*keys, groups, inner, pinout.units[unit.key], out);
    }
    return pinout;
}

void reject_unknown_pinouts(const BoardDraft& draft) {
    const Models& models = draft.board.models;
    std::vector<std::string> known;
    for (const auto& [name, pinout] : models.pinouts) known.push_back(name);
    for (const Part& part : draft.board.parts) {
        if (pinout_of(part, models)) continue;
        const std::string named = pinout_name(part, models);
        if (named.empty()) continue;
        draft.out.push_back(
            unknown_name(part.at, "unknown-pinout", part.name, "pinout", named, known));
    }
}

void read_off_board(BoardDraft& draft) {
    const Node::Table* table = section_of(draft, "off_board");
    if (table) OffBoardReader(draft).read(*table);
}

void read_not_simulated(BoardDraft& draft, const Node::Table& board_table) {
    const Member* member = find(board_table, "not_simulated");
    const Node::Array* list =
        member ? read_list(member->value, "board.not_simulated", draft.out, R"(a list: ["C20"])")
               : nullptr;
    if (!list) return;
    for (const Node& node : *list) {
        const auto name = read_text(node, "board.not_simulated", draft.out);
        if (!name) continue;
        const auto [device, pin] = device_and_pin(*name).value_or(std::pair(*name, std::string()));
        draft.board.not_simulated.push_back({device, pin, node.at});
    }
}

}  // namespace lowhiss
