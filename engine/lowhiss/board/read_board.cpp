#include "lowhiss/board/board.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/utf8.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

class BoardReader {
  public:
    BoardReader(const LoadedBoard& loaded, const FileReader& reader, Board& board, Diagnostics& out)
        : draft_{loaded.tables, reader, board, out}, board_(board), out_(out) {
        whole_file_.source = loaded.files.front();
    }

    void read() {
        read_board_table();
        read_parts();
        const std::vector<Member> alterations = read_alterations(draft_, board_.set);
        alter(draft_, alterations, board_.parts);
        board_.name = altered_name(board_.name, board_.set);
        reject_unknown_pinouts(draft_);
        read_input();
        read_output();
        read_knob(draft_);
        read_feed();
        read_ripples(draft_);
        read_variants(draft_);
        alter_variants(alterations);
        read_matched_groups(draft_);
        read_off_board(draft_);
        reject_vanishing_values(draft_);
        warn_of_similar_nodes(draft_);
        read_limits(draft_);
        read_choose(draft_);
        read_drift(draft_);
        read_accepted_faults(draft_);
        reject_endless_work();
    }

  private:
    /// Applies the alterations to every variant. Their mistakes have been reported before.
    void alter_variants(const std::vector<Member>& alterations) {
        Diagnostics known;
        const BoardDraft draft{draft_.tables, draft_.reader, board_, known, draft_.part_entries};
        for (Variant& variant : board_.variants) alter(draft, alterations, variant.changed);
    }

    /// `check` evaluates each limit, and some twenty figures of the baseline, in every assembly at
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
            "use fewer knob positions, or split the board in two with based_on"));
    }

    const Node::Table* required_table(const std::string& name, std::string accepted) {
        if (!find(draft_.tables, name)) {
            out_.push_back(error_at(whole_file_, "missing-table", "",
                                    fmt::format("there is no [{}]", name), std::move(accepted)));
        }
        return table_named(name);
    }

    const Node::Table* table_named(const std::string& name) {
        if (const Member* member = find(draft_.tables, name)) at_ = member->at;
        return section_of(draft_, name);
    }

    void read_board_table() {
        const Node::Table* table = table_named("board");
        board_.name = printable(std::filesystem::path(board_.path).stem().string());
        std::replace(board_.name.begin(), board_.name.end(), '\t', ' ');
        if (!table) return;
        const auto text = [&](const char* key, std::string& into) {
            const Member* member = find(*table, key);
            if (!member) return;
            into = read_text(member->value, fmt::format("board.{}", key), out_).value_or(into);
        };
        text("name", board_.name);
        text("revision", board_.revision);
        text("ground", board_.ground);
        read_temperatures(draft_, *table);
        read_not_simulated(draft_, *table);
        reject_unknown_keys(*table, board_keys(), "board", out_);
    }

    void read_parts() {
        draft_.part_entries =
            required_table("parts",
                           "[parts] with a line for each part: R1 = { resistor = \"2k2\", "
                           "pins = [\"a\", \"b\"] }");
        if (!draft_.part_entries) return;
        for (const Member& entry : *draft_.part_entries) {
            if (auto part = read_part(draft_, entry)) board_.parts.push_back(*std::move(part));
        }
    }

    /// Whether every node of the board is known; a part with a mistake may have others.
    bool nodes_are_known() const {
        const auto connected = [](const Part& part) {
            return std::none_of(part.pins.begin(), part.pins.end(),
                                [](const Pin& pin) { return pin.node.empty(); });
        };
        return draft_.part_entries != nullptr &&
               board_.parts.size() == draft_.part_entries->size() &&
               std::all_of(board_.parts.begin(), board_.parts.end(), connected);
    }

    /// A terminal of the board: a node that some part must be connected to. Its name is empty after
    /// a mistake.
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
                                fmt::format("no part is connected to the node {}", quote(name)),
                                listed(known), did_you_mean(name, known)));
    }

    void read_input() {
        const Node::Table* table = required_table("input", "[input] with plus, minus and capsule");
        if (!table) return;
        board_.input.plus = read_terminal(*table, "input", "plus", false);
        board_.input.minus = read_terminal(*table, "input", "minus", true);
        if (const Member* capsule = find(*table, "capsule")) {
            board_.input.capsule_at = capsule->value.at;
            board_.input.capsule = read_capsule_name(draft_, *capsule, "input.capsule");
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

    void read_output() {
        const Node::Table* table =
            required_table("output", "[output] with plus, minus, load and cable");
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
        const Node::Table* table = table_named("feed");
        if (!table) return;
        Feed feed = read_feed_figures(*table, at_, out_);
        feed.plus = read_terminal(*table, "feed", "plus", false);
        feed.minus = read_terminal(*table, "feed", "minus", false);
        feed.ret = read_terminal(*table, "feed", "return", true);
        reject_shorted_terminals(feed.plus, feed.minus, "feed");
        if (!feed.standard.empty()) board_.feed = std::move(feed);
    }

    BoardDraft draft_;
    Board& board_;
    Diagnostics& out_;
    Position whole_file_;
    Position at_;  ///< the heading of the table being read
};

/// Sorts by file and line; faults of a whole file come last in it. Boards and libraries come in the
/// order they were opened, then other files in the order of their first fault.
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

const Node::Table* section_of(const BoardDraft& draft, std::string_view name) {
    const Member* member = find(draft.tables, name);
    return member ? read_table(member->value, std::string(name), draft.out) : nullptr;
}

bool is_listed_part(const BoardDraft& draft, std::string_view name) {
    return draft.part_entries == nullptr || find(*draft.part_entries, name) != nullptr;
}

void report_unknown_part(const BoardDraft& draft, const Position& at, const std::string& subject,
                         std::string_view what, const std::string& name,
                         const std::vector<std::string>& known) {
    if (is_listed_part(draft, name)) return;
    draft.out.push_back(unknown_name(at, "unknown-part", subject, what, name, known));
}

std::vector<std::string> part_names(const Board& board) {
    std::vector<std::string> names;
    names.reserve(board.parts.size());
    for (const Part& part : board.parts) names.push_back(part.name);
    return names;
}

std::string read_capsule_name(const BoardDraft& draft, const Member& member,
                              const std::string& subject) {
    const auto name = read_text(member.value, subject, draft.out);
    if (!name) return "";
    if (draft.board.models.capsules.contains(*name)) return *name;
    std::vector<std::string> known;
    for (const auto& [capsule, model] : draft.board.models.capsules) known.push_back(capsule);
    Diagnostic unknown =
        unknown_name(member.value.at, "unknown-capsule", subject, "capsule", *name, known);
    if (known.empty()) unknown.advice = how_to_define("capsule");
    draft.out.push_back(std::move(unknown));
    return "";
}

BoardReading read_board(const std::string& path, const FileReader& reader,
                        const std::vector<std::string>& set) {
    BoardReading reading;
    const FileReader within = within_budget(reader);
    const LoadedBoard loaded = load_board(path, within, reading.diagnostics);
    if (loaded.complete) {
        Board board;
        board.path = path;
        board.set = set;
        board.models = read_models(loaded.models, within, reading.diagnostics);
        BoardReader(loaded, within, board, reading.diagnostics).read();
        if (!has_errors(reading.diagnostics)) reading.board = std::move(board);
    }
    sort_by_place(reading.diagnostics, loaded.files);
    return reading;
}

}  // namespace lowhiss
