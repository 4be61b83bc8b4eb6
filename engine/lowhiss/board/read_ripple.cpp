#include "lowhiss/board/read_ripple.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr const char* line_list = R"(a list of frequency and volts rms: [["100 kHz", "5 mV"]])";

class RippleReader {
  public:
    RippleReader(const Board& board, const Node::Table* part_entries, Diagnostics& out)
        : board_(board), part_entries_(part_entries), out_(out) {}

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
        if (board_.feed) known.emplace_back("feed");
        if (source == "feed" && board_.feed) return;
        if (!part && (!part_entries_ || find(*part_entries_, source))) return;
        out_.push_back(
            part ? error_at(
                       at, "not-a-supply", "ripple.source",
                       fmt::format("{} holds no voltage that ripple could ride on", quote(source)),
                       listed(known), "name the source, battery, regulator or converter")
                 : unknown_name(at, "unknown-part", "ripple.source", "supply", source, known));
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

    const Board& board_;
    const Node::Table* part_entries_;
    Diagnostics& out_;
};

}  // namespace

bool carries_ripple(const Part& part) {
    const auto* source = std::get_if<IndependentSource>(&part.data);
    return (source && source->kind == IndependentSource::Kind::voltage) ||
           std::holds_alternative<Battery>(part.data) ||
           std::holds_alternative<Regulator>(part.data);
}

void read_ripples(const Node::Table& tables, Board& board, const Node::Table* part_entries,
                  Diagnostics& out) {
    const Member* member = find(tables, "ripple");
    const Node::Array* list =
        member ? read_list(member->value, "ripple", out, "[[ripple]] tables") : nullptr;
    if (!list) return;
    for (const Node& node : *list) {
        const Node::Table* table = read_table(node, "ripple", out);
        if (table)
            board.ripples.push_back(RippleReader(board, part_entries, out).read(*table, node.at));
    }
}

}  // namespace lowhiss
