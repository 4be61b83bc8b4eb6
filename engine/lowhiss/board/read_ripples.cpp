#include "lowhiss/board/readers.hpp"
#include "lowhiss/quantity/visitor.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr const char* line_list = R"(a list of frequency and volts rms: [["100 kHz", "5 mV"]])";

/// Whether the part sets a voltage that may carry ripple.
bool carries_ripple(const Part& part) {
    using Source = IndependentSource;
    return std::visit(
        Overloads{[](const Source& source) { return source.kind == Source::Kind::voltage; },
                  [](const OneOf<Battery, Regulator> auto&) { return true; },
                  [](const OneOf<Resistor, Capacitor, Inductor, Transformer, Potentiometer, Link,
                                 OpAmp, PreampIc, Bipolar, Jfet, ControlledSource, Diode> auto&) {
                      return false;
                  }},
        part.data);
}

class RippleReader {
  public:
    explicit RippleReader(const BoardDraft& draft)
        : draft_(draft), board_(draft.board), out_(draft.out) {}

    Ripple read(const Node::Table& table, const Position& at) {
        Ripple ripple;
        ripple.at = at;
        ripple.source = name(table, at, "source");
        ripple.name = ripple.source;
        if (const Member* member = find(table, "name")) {
            ripple.name = read_text(member->value, "ripple.name", out_).value_or("");
        }
        if (!ripple.source.empty()) reject_unknown_source(ripple.source, table);
        read_lines(table, ripple);
        if (const Member* density = find(table, "density")) {
            ripple.density_v_rthz = read_figure(density->value, Unit::volt_per_root_hertz,
                                                Range::at_least_zero, "ripple.density", out_)
                                        .value_or(0);
        }
        reject_unknown_keys(table, {"name", "source", "lines", "density"}, "ripple", out_);
        return ripple;
    }

  private:
    std::string name(const Node::Table& table, const Position& at, const std::string& key) {
        if (const Member* member = find(table, key)) {
            return read_text(member->value, "ripple." + key, out_).value_or("");
        }
        out_.push_back(error_at(at, "missing-key", "ripple", fmt::format("'{}' is missing", key),
                                "source = \"V1\", the part whose voltage carries it"));
        return "";
    }

    void reject_unknown_source(const std::string& source, const Node::Table& table) {
        const Position& at = find(table, "source")->value.at;
        const Part* part = find_part(board_, source);
        if (part && carries_ripple(*part)) return;
        std::vector<std::string> known;
        for (const Part& other : board_.parts) {
            if (carries_ripple(other)) known.push_back(other.name);
        }
        if (board_.feed) known.emplace_back(feed_part);
        if (source == feed_part && board_.feed) return;
        if (!part) return report_unknown_part(draft_, at, "ripple.source", "supply", source, known);
        out_.push_back(error_at(at, "not-a-supply", "ripple.source",
                                fmt::format("{} is not a supply", quote(source)), listed(known),
                                "name a voltage source, battery, regulator or converter"));
    }

    void read_lines(const Node::Table& table, Ripple& ripple) {
        const Member* lines = find(table, "lines");
        const Node::Array* rows =
            lines ? read_list(lines->value, "ripple.lines", out_, line_list) : nullptr;
        if (!rows) return;
        for (const Node& row : *rows) {
            const Node::Array* pair = row.array();
            if (!pair || pair->size() != 2) {
                out_.push_back(
                    error_at(row.at, "bad-line", "ripple.lines", "a row is not a pair", line_list));
                continue;
            }
            const auto f_hz =
                read_figure((*pair)[0], Unit::hertz, Range::positive, "ripple.lines", out_);
            const auto rms_v =
                read_figure((*pair)[1], Unit::volt, Range::at_least_zero, "ripple.lines", out_);
            if (f_hz && rms_v) ripple.lines.push_back({*f_hz, *rms_v});
        }
    }

    const BoardDraft& draft_;
    const Board& board_;
    Diagnostics& out_;
};

}  // namespace

void read_ripples(BoardDraft& draft) {
    const Member* member = find(draft.tables, "ripple");
    const Node::Array* list =
        member ? read_list(member->value, "ripple", draft.out, "[[ripple]] tables") : nullptr;
    if (!list) return;
    for (const Node& node : *list) {
        const Node::Table* table = read_table(node, "ripple", draft.out);
        if (table) draft.board.ripples.push_back(RippleReader(draft).read(*table, node.at));
    }
}

}  // namespace lowhiss
