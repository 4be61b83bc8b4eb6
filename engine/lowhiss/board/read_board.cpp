#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "lowhiss/board/board.hpp"
#include "lowhiss/board/read_feed.hpp"
#include "lowhiss/board/read_limit.hpp"
#include "lowhiss/board/read_matched.hpp"
#include "lowhiss/board/read_model.hpp"
#include "lowhiss/board/read_part.hpp"
#include "lowhiss/board/read_ripple.hpp"
#include "lowhiss/board/read_temperature.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

template <class Named>
std::vector<std::string> names_of(const std::vector<Named>& list) {
    std::vector<std::string> names;
    names.reserve(list.size());
    for (const Named& item : list) names.push_back(item.name);
    return names;
}

class BoardReader {
  public:
    BoardReader(const LoadedBoard& loaded, const FileReader& reader, Board& board, Diagnostics& out)
        : tables_(loaded.tables), reader_(reader), board_(board), out_(out) {
        whole_file_.source = loaded.files.front();
    }

    void read() {
        read_board_table();
        read_parts();
        read_input();
        read_output();
        read_knob();
        read_feed();
        read_ripples(tables_, board_, part_entries_, out_);
        read_variants();
        read_matched_groups(tables_, part_entries_, board_, out_);
        reject_vanishing_values(board_, out_);
        read_limits(tables_, part_entries_, board_, reader_, out_);
        reject_endless_work();
    }

  private:
    /// A check holds each limit, and some twenty figures of the baseline, in every assembly at
    /// every knob position.
    void reject_endless_work() {
        constexpr double most_verdicts = 50e3;
        constexpr double figures = 20;
        const double limits = static_cast<double>(board_.limits.size()) + figures;
        const double assemblies = static_cast<double>(board_.variants.size()) + 1;
        const double positions =
            board_.knob ? static_cast<double>(board_.knob->positions.size()) : 1;
        if (limits * assemblies * positions <= most_verdicts) return;
        out_.push_back(error_at(
            whole_file_, "too-many-settings", "",
            fmt::format("{} limits and {} figures, in {} assemblies, at {} knob positions, are {} "
                        "verdicts",
                        board_.limits.size(), figures, assemblies, positions,
                        limits * assemblies * positions),
            fmt::format("up to {}", most_verdicts),
            "take fewer knob positions, or make two boards of it with based_on"));
    }

    const Node::Table* table_named(const std::string& name, bool needed, std::string accepted) {
        const Member* member = find(tables_, name);
        if (member) {
            at_ = member->at;
            return read_table(member->value, name, out_);
        }
        if (needed) {
            out_.push_back(error_at(whole_file_, "missing-table", "",
                                    fmt::format("there is no [{}]", name), std::move(accepted)));
        }
        return nullptr;
    }

    void read_board_table() {
        const Node::Table* table = table_named("board", false, "");
        board_.name = std::filesystem::path(board_.path).stem().string();
        if (!table) return;
        const auto text = [&](const char* key, std::string& into) {
            const Member* member = find(*table, key);
            if (!member) return;
            into = read_text(member->value, fmt::format("board.{}", key), out_).value_or(into);
        };
        text("name", board_.name);
        text("revision", board_.revision);
        text("ground", board_.ground);
        read_temperatures(*table, board_, out_);
        reject_unknown_keys(*table, board_keys(), "board", out_);
    }

    void read_parts() {
        part_entries_ = table_named("parts", true,
                                    "[parts] with a line for each part: R1 = { resistor = \"2k2\", "
                                    "pins = [\"a\", \"b\"] }");
        if (!part_entries_) return;
        for (const Member& entry : *part_entries_) {
            if (auto part = read_part(entry, context())) board_.parts.push_back(*std::move(part));
        }
    }

    /// Whether every node of the board is known; a part with a mistake may have hidden some.
    bool nodes_are_known() const {
        const auto connected = [](const Part& part) {
            return std::none_of(part.pins.begin(), part.pins.end(),
                                [](const Pin& pin) { return pin.node.empty(); });
        };
        return part_entries_ != nullptr && board_.parts.size() == part_entries_->size() &&
               std::all_of(board_.parts.begin(), board_.parts.end(), connected);
    }

    /// Nothing where the entry of that name, or all of [parts], has been reported already.
    void report_unknown_part(const Position& at, const std::string& subject, std::string_view what,
                             const std::string& name, const std::vector<std::string>& known) {
        if (!part_entries_ || find(*part_entries_, name)) return;
        out_.push_back(unknown_name(at, "unknown-part", subject, what, name, known));
    }

    PartContext context() { return {board_.models, board_.ground, out_}; }

    /// A terminal of the board: a node that some part must reach. Without a name after a mistake.
    Pin read_terminal(const Node::Table& table, const std::string& section, const std::string& key,
                      bool ground_by_default) {
        const std::string subject = section + "." + key;
        const Member* member = find(table, key);
        if (!member) {
            if (!ground_by_default) {
                out_.push_back(error_at(at_, "missing-key", section,
                                        fmt::format("'{}' is missing", key),
                                        fmt::format("{} = \"node\"", key)));
            }
            return {ground_by_default ? board_.ground : "", at_};
        }
        const auto name = read_text(member->value, subject, out_);
        if (!name) return {"", member->value.at};
        if (nodes_are_known()) reject_unknown_node(*name, member->value.at, subject);
        return {*name, member->value.at};
    }

    void reject_unknown_node(const std::string& name, const Position& at,
                             const std::string& subject) {
        std::set<std::string> nodes{board_.ground};
        for (const Part& part : board_.parts) {
            for (const Pin& pin : part.pins) nodes.insert(pin.node);
        }
        if (nodes.contains(name)) return;
        const std::vector<std::string> known(nodes.begin(), nodes.end());
        out_.push_back(error_at(at, "unknown-node", subject,
                                fmt::format("no part reaches the node {}", quote(name)),
                                listed(known), did_you_mean(name, known)));
    }

    void read_input() {
        const Node::Table* table =
            table_named("input", true, "[input] with plus, minus and capsule");
        if (!table) return;
        board_.input.plus = read_terminal(*table, "input", "plus", false);
        board_.input.minus = read_terminal(*table, "input", "minus", true);
        if (const Member* capsule = find(*table, "capsule")) {
            board_.input.capsule_at = capsule->value.at;
            board_.input.capsule = read_capsule_name(*capsule, "input.capsule");
        }
        if (const Member* mismatch = find(*table, "mismatch")) {
            board_.input.mismatch_ohm = read_figure(mismatch->value, Unit::ohm,
                                                    Range::at_least_zero, "input.mismatch", out_)
                                            .value_or(0);
        }
        reject_unknown_keys(*table, {"plus", "minus", "capsule", "mismatch"}, "input", out_);
        reject_shorted_terminals(board_.input.plus, board_.input.minus, "input");
    }

    void reject_shorted_terminals(const Pin& plus, const Pin& minus, const std::string& section) {
        if (plus.node != minus.node || plus.node.empty()) return;
        out_.push_back(error_at(plus.at, "shorted-terminals", section,
                                fmt::format("plus and minus are both {}", quote(plus.node)),
                                "two different nodes"));
    }

    std::string read_capsule_name(const Member& member, const std::string& subject) {
        const auto name = read_text(member.value, subject, out_);
        if (!name) return "";
        if (board_.models.capsules.contains(*name)) return *name;
        std::vector<std::string> known;
        for (const auto& [capsule, model] : board_.models.capsules) known.push_back(capsule);
        Diagnostic unknown =
            unknown_name(member.value.at, "unknown-capsule", subject, "capsule", *name, known);
        if (known.empty()) unknown.advice = how_to_define("capsule");
        out_.push_back(std::move(unknown));
        return "";
    }

    void read_output() {
        const Node::Table* table =
            table_named("output", true, "[output] with plus, minus, load and cable");
        if (!table) return;
        board_.output.plus = read_terminal(*table, "output", "plus", false);
        board_.output.minus = read_terminal(*table, "output", "minus", true);
        if (const Member* load = find(*table, "load")) {
            board_.output.load_ohm =
                read_figure(load->value, Unit::ohm, Range::positive, "output.load", out_)
                    .value_or(infinite);
        }
        if (const Member* cable = find(*table, "cable")) {
            board_.output.cable_f =
                read_figure(cable->value, Unit::farad, Range::at_least_zero, "output.cable", out_)
                    .value_or(0);
        }
        reject_unknown_keys(*table, {"plus", "minus", "load", "cable"}, "output", out_);
        reject_shorted_terminals(board_.output.plus, board_.output.minus, "output");
    }

    void read_feed() {
        const Node::Table* table = table_named("feed", false, "");
        if (!table) return;
        Feed feed = read_feed_table(*table, at_, out_);
        feed.plus = read_terminal(*table, "feed", "plus", false);
        feed.minus = read_terminal(*table, "feed", "minus", false);
        feed.ret = read_terminal(*table, "feed", "return", true);
        reject_shorted_terminals(feed.plus, feed.minus, "feed");
        if (!feed.standard.empty()) board_.feed = std::move(feed);
    }

    void read_knob() {
        const Node::Table* table = table_named("knob", false, "");
        if (!table) return;
        Knob knob;
        if (const Member* part = find(*table, "part")) {
            if (const Node::Array* gang = part->value.array()) {
                if (gang->empty()) reject_empty_list(part->value, "knob.part", "potentiometers");
                for (const Node& node : *gang) read_knob_part(node, knob);
            } else {
                read_knob_part(part->value, knob);
            }
        } else {
            out_.push_back(
                error_at(at_, "missing-key", "knob", "'part' is missing", "part = \"RV1\""));
        }
        read_positions(*table, knob);
        reject_unknown_keys(*table, {"part", "positions"}, "knob", out_);
        if (!knob.parts.empty()) board_.knob = std::move(knob);
    }

    std::vector<std::string> potentiometers() const {
        std::vector<std::string> names;
        for (const Part& part : board_.parts) {
            if (std::holds_alternative<Potentiometer>(part.data)) names.push_back(part.name);
        }
        return names;
    }

    void reject_empty_list(const Node& list, std::string subject, std::string accepted) {
        out_.push_back(error_at(list.at, "empty-list", std::move(subject), "the list is empty",
                                std::move(accepted)));
    }

    void read_knob_part(const Node& node, Knob& knob) {
        const auto name = read_text(node, "knob.part", out_);
        if (!name) return;
        const Part* part = find_part(board_, *name);
        if (!part) {
            report_unknown_part(node.at, "knob.part", "potentiometer", *name, potentiometers());
        } else if (!std::holds_alternative<Potentiometer>(part->data)) {
            out_.push_back(
                error_at(node.at, "knob-not-potentiometer", "knob.part",
                         fmt::format("{} is a {}", quote(*name), schema_of(*part).keyword),
                         "a potentiometer"));
        } else {
            knob.parts.push_back(*name);
        }
    }

    void read_positions(const Node::Table& table, Knob& knob) {
        const Member* member = find(table, "positions");
        if (!member) {
            knob.positions = {0, 0.25, 0.5, 0.75, 1};
            return;
        }
        const Node::Array* list =
            read_list(member->value, "knob.positions", out_, "a list: [0, 0.5, 1]");
        if (!list) return;
        if (list->empty()) {
            reject_empty_list(member->value, "knob.positions", "rotations from 0 to 1");
        }
        for (const Node& node : *list) {
            const auto position =
                read_figure(node, Unit::fraction, Range::zero_to_one, "knob.positions", out_);
            if (!position) continue;
            const auto& known = knob.positions;
            if (std::find(known.begin(), known.end(), *position) != known.end()) {
                out_.push_back(error_at(node.at, "duplicate-position", "knob.positions",
                                        "this rotation stands in the list already",
                                        "each rotation once", "leave one of them out"));
            }
            knob.positions.push_back(*position);
        }
    }

    void read_variants() {
        const Node::Table* table = table_named("variants", false, "");
        if (!table) return;
        for (const Member& entry : *table) read_variant(entry);
    }

    void read_variant(const Member& entry) {
        const std::string subject = "variants." + entry.key;
        if (entry.key == "all" || entry.key == "plain") {
            out_.push_back(error_at(entry.at, "reserved-name", subject,
                                    entry.key == "all" ? "'all' stands for every variant"
                                                       : "'plain' stands for no variant",
                                    "another name"));
        }
        board_.variants.push_back({entry.key, "", "", {}});
        const Node::Table* table = read_table(entry.value, subject, out_);
        if (table) fill_variant(board_.variants.back(), *table, subject);
    }

    void fill_variant(Variant& variant, const Node::Table& table, const std::string& subject) {
        if (const Member* summary = find(table, "summary")) {
            variant.summary = read_text(summary->value, subject + ".summary", out_).value_or("");
        }
        if (const Member* capsule = find(table, "capsule")) {
            variant.capsule = read_capsule_name(*capsule, subject + ".capsule");
        }
        const Member* set = find(table, "set");
        const Node::Table* changes = set ? read_table(set->value, subject + ".set", out_) : nullptr;
        if (changes) {
            for (const Member& change : *changes) read_change(change, subject, variant);
        }
        if (const Member* feed = find(table, "feed")) read_no_feed(*feed, subject, variant);
        reject_unknown_keys(table, {"summary", "capsule", "feed", "set"}, subject, out_);
    }

    void read_no_feed(const Member& member, const std::string& subject, Variant& variant) {
        const std::string* text = member.value.text();
        variant.without_feed = text != nullptr && *text == "none";
        if (variant.without_feed) return;
        out_.push_back(error_at(member.value.at, "bad-feed", subject + ".feed",
                                "a variant can only be without the feed", "feed = \"none\""));
    }

    void read_change(const Member& change, const std::string& subject, Variant& variant) {
        const Part* part = find_part(board_, change.key);
        if (part) {
            variant.changed.push_back(changed_part(*part, change, context()));
        } else {
            report_unknown_part(change.at, subject + ".set", "part", change.key,
                                names_of(board_.parts));
        }
    }

    const Node::Table& tables_;
    const FileReader& reader_;
    Board& board_;
    Diagnostics& out_;
    Position whole_file_;
    Position at_;  ///< the heading of the table being read
    const Node::Table* part_entries_ = nullptr;
};

/// As they stand in the files, what concerns a whole file at its end: boards and libraries in the
/// order they were opened, then the impedance files in the order they were found wrong.
void sort_by_place(Diagnostics& diagnostics, std::vector<std::shared_ptr<const Source>> files) {
    const auto rank = [&](const Diagnostic& d) {
        return std::find(files.begin(), files.end(), d.at.source) - files.begin();
    };
    for (const Diagnostic& d : diagnostics) {
        if (rank(d) == std::ssize(files)) files.push_back(d.at.source);
    }
    const auto key = [&](const Diagnostic& d) {
        return std::tuple(rank(d), d.at.line == 0, d.at.line, d.at.column);
    };
    std::stable_sort(diagnostics.begin(), diagnostics.end(),
                     [&](const Diagnostic& a, const Diagnostic& b) { return key(a) < key(b); });
}

}  // namespace

BoardReading read_board(const std::string& path, const FileReader& reader) {
    BoardReading reading;
    const FileReader within = within_budget(reader);
    const LoadedBoard loaded = load_board(path, within, reading.diagnostics);
    if (loaded.complete) {
        Board board;
        board.path = path;
        board.models = read_models(loaded.models, within, reading.diagnostics);
        BoardReader(loaded, within, board, reading.diagnostics).read();
        if (!has_errors(reading.diagnostics)) reading.board = std::move(board);
    }
    sort_by_place(reading.diagnostics, loaded.files);
    return reading;
}

}  // namespace lowhiss
