#include "write/inspect_text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/board/board_lines.hpp"
#include "lowhiss/board/labels.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/topology/feedback.hpp"
#include "shell/names.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t line_width = 80;
constexpr std::size_t widest_cell = 20;
constexpr std::size_t widest_start = 56;
constexpr std::size_t most_knob_rows = 20;

/// The first `columns` code points.
std::string head_of(const std::string& text, std::size_t columns) {
    std::size_t end = 0;
    for (std::size_t k = 0; k < columns && end < text.size(); ++k) {
        ++end;
        while (end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) ++end;
    }
    return text.substr(0, end);
}

std::string cell(std::string text) {
    text = for_terminal(text);
    return width_of(text) <= widest_cell ? text : head_of(text, widest_cell - 1) + "…";
}

/// Fills lines of at most 80 columns with words; lines after the first are indented. A word longer
/// than a line is broken.
class Wrapper {
  public:
    Wrapper(std::string first, std::size_t indent)
        : line_(std::move(first)), indent_(indent, ' ') {}

    void add(std::string word) {
        if (!fresh_ && width_of(line_) + 1 + width_of(word) > line_width) end_line();
        if (!fresh_) line_ += ' ';
        while (width_of(line_) + width_of(word) > line_width) {
            const std::string piece = head_of(word, line_width - width_of(line_));
            line_ += piece;
            word.erase(0, piece.size());
            end_line();
        }
        line_ += word;
        fresh_ = false;
    }

    std::string finish() {
        end_line();
        return std::move(text_);
    }

  private:
    void end_line() {
        text_ += line_.substr(0, line_.find_last_not_of(' ') + 1) + "\n";
        line_ = indent_;
        fresh_ = true;
    }

    std::string text_;
    std::string line_;
    std::string indent_;
    bool fresh_ = true;
};

/// `first`, then the words: beside it, or below if it leaves no room.
std::string wrapped(const std::string& first, const std::string& words) {
    const std::string start = first.substr(0, first.find_last_not_of(' ') + 1);
    const bool beside = width_of(first) <= widest_start;
    Wrapper lines(beside ? first : std::string(8, ' '), beside ? width_of(first) : 8);
    for (std::size_t at = 0; at < words.size();) {
        const std::size_t end = std::min(words.find(' ', at), words.size());
        lines.add(words.substr(at, end - at));
        at = end + 1;
    }
    return (beside ? "" : head_of(start, line_width) + "\n") + lines.finish();
}

/// Columns of short cells, followed by wrapped text.
class WrappedTable {
  public:
    void row(std::vector<std::string> cells, const std::string& text) {
        for (std::string& c : cells) c = cell(std::move(c));
        widths_.resize(std::max(widths_.size(), cells.size()));
        for (std::size_t k = 0; k < cells.size(); ++k) {
            widths_[k] = std::max(widths_[k], width_of(cells[k]));
        }
        rows_.push_back({std::move(cells), for_terminal(text)});
    }

    std::string text() const {
        std::string all;
        for (const auto& [cells, text] : rows_) {
            std::string first;
            for (std::size_t k = 0; k < cells.size(); ++k) {
                first += "  " + cells[k] + std::string(widths_[k] - width_of(cells[k]), ' ');
            }
            all += wrapped(first + "  ", text);
        }
        return all;
    }

  private:
    struct Row {
        std::vector<std::string> cells;
        std::string text;
    };
    std::vector<Row> rows_;
    std::vector<std::size_t> widths_;
};

std::string plural(std::size_t count, std::string_view noun) {
    return fmt::format("{} {}{}", count, noun, count == 1 ? "" : "s");
}

std::string pins_text(const Part& part) {
    std::string text;
    for (std::size_t k = 0; k < part.pins.size(); ++k) {
        const std::string name = pin_name(part, k);
        text += fmt::format("{}{}{}{}", k == 0 ? "" : ", ", name, name.empty() ? "" : " ",
                            part.pins[k].node);
    }
    return part.note.empty() ? text : text + "; " + part.note;
}

std::string taper_text(const Potentiometer& p) {
    switch (p.taper.kind) {
        case Taper::Kind::linear:
            return "linear";
        case Taper::Kind::log:
            return fmt::format("log, midpoint {}", p.midpoint);
        case Taper::Kind::reverse_log:
            return fmt::format("reverse-log, midpoint {}", p.midpoint);
        case Taper::Kind::table:
            return "taper from a table";
    }
    return "";
}

/// "coil resistance 180 Ω, sensitivity 1.8 mV/Pa": all figures that are set.
template <class Owner>
std::string figures_of(std::span<const Field<Owner>> fields, Owner owner) {
    std::string text;
    for (const Field<Owner>& field : fields) {
        const double value = field.slot(owner);
        if (!std::isfinite(value)) continue;
        std::string name(field.key);
        std::replace(name.begin(), name.end(), '_', ' ');
        text += fmt::format("{}{} {}", text.empty() ? "" : ", ", name,
                            print_quantity(value, field.unit));
    }
    return text;
}

std::string way_text(const FeedbackLoop& loop) {
    if (loop.parts.empty()) return loop.nodes.front() + ", directly";
    std::string text = loop.nodes.front();
    for (std::size_t k = 0; k < loop.parts.size(); ++k) {
        text += fmt::format(" - {} - {}", loop.parts[k], loop.nodes[k + 1]);
    }
    return text;
}

class InspectWriter {
  public:
    InspectWriter(const InspectedAssembly& assembly, bool bold)
        : assembly_(assembly), board_(assembly.board), bold_(bold) {}

    std::string text() {
        write_head();
        write_parts();
        for (const Part& part : board_.parts) {
            const auto* potentiometer = std::get_if<Potentiometer>(&part.data);
            if (potentiometer && part.fitted) write_track(part, *potentiometer);
        }
        write_capsule();
        write_feed();
        write_nodes();
        write_feedback();
        write_findings();
        return std::move(text_);
    }

  private:
    void title(const std::string& name) {
        if (!text_.empty()) text_ += "\n";
        const std::string lines = wrapped("", for_terminal(name));
        text_ += title_line(lines.substr(0, lines.size() - 1), bold_);
    }

    void write_head() {
        title(title_of(assembly_));
        if (!assembly_.summary.empty()) text_ += wrapped("", for_terminal(assembly_.summary));
        const auto count = [&](auto what) {
            return static_cast<std::size_t>(
                std::count_if(board_.parts.begin(), board_.parts.end(), what));
        };
        const std::size_t unfitted = count([](const Part& part) { return !part.fitted; });
        const std::size_t open = count([](const Part& p) { return p.fitted && !is_in_circuit(p); });
        std::string aside;
        if (unfitted > 0) aside += fmt::format(", {} not fitted", unfitted);
        if (open > 0) aside += fmt::format(", {} open", plural(open, "link"));
        text_ += wrapped(
            "", fmt::format("{}{}; {}; {}", plural(board_.parts.size(), "part"), aside,
                            plural(nodes_of(board_).size(), "node"), temperature_text(board_)));
    }

    void write_parts() {
        title("Parts");
        WrappedTable table;
        for (const Part& part : board_.parts) {
            const std::string keyword(schema_of(part).keyword);
            const std::string drift = temperature_coefficient_text(part);
            if (part.fitted) {
                table.row({part.name, keyword, value_text(part), tolerance_text(part)},
                          pins_text(part) + (drift.empty() ? "" : "; " + drift));
            } else {
                table.row({part.name, keyword, "not fitted", ""}, part.note);
            }
        }
        text_ += table.text();
    }

    bool turned_by_knob(const Part& part) const {
        if (!board_.knob) return false;
        const auto& gang = board_.knob->parts;
        return std::find(gang.begin(), gang.end(), part.name) != gang.end();
    }

    void write_track(const Part& part, const Potentiometer& potentiometer) {
        const bool knob = turned_by_knob(part);
        title(fmt::format("Track of {}{}: {}", part.name, knob ? ", the knob" : "",
                          taper_text(potentiometer)));
        const std::vector<double> rotations =
            knob ? assembly_.rotations : std::vector<double>{potentiometer.position};
        Table table(0);
        table.heading({"rotation", "ccw to wiper", "wiper to cw"});
        for (std::size_t k = 0; k < std::min(most_knob_rows, rotations.size()); ++k) {
            const auto [to_ccw, to_cw] = track_ohm(potentiometer, rotations[k]);
            table.row({print_quantity(rotations[k], Unit::fraction, 4),
                       print_quantity(to_ccw, Unit::ohm, 4), print_quantity(to_cw, Unit::ohm, 4)});
        }
        text_ += table.text();
        if (rotations.size() > most_knob_rows) {
            text_ += fmt::format("  and {} more\n", rotations.size() - most_knob_rows);
        }
    }

    void write_capsule() {
        const Capsule* capsule = assembly_.capsule;
        title(fmt::format("Capsule: {}", capsule ? capsule->name : "none (ideal source)"));
        if (!capsule) return;
        WrappedTable table;
        table.row({std::string(capsule_schemas()[capsule->impedance.index()].kind)},
                  figures_of(capsule_schemas()[capsule->impedance.index()].fields, *capsule));
        if (const auto* dynamic = std::get_if<DynamicCapsule>(&capsule->impedance)) {
            for (const Resonance& r : dynamic->resonances) {
                table.row({"resonance"}, fmt::format("{}, Q {}, {} at resonance",
                                                     print_quantity(r.frequency_hz, Unit::hertz),
                                                     print_quantity(r.q, Unit::number),
                                                     print_quantity(r.resistance_ohm, Unit::ohm)));
            }
        }
        if (const auto* measured = std::get_if<MeasuredCapsule>(&capsule->impedance)) {
            table.row(
                {"file"},
                fmt::format("{}, {} to {}", measured->file,
                            print_quantity(measured->points.front().frequency_hz, Unit::hertz),
                            print_quantity(measured->points.back().frequency_hz, Unit::hertz)));
        }
        text_ += table.text();
    }

    void write_feed() {
        if (!board_.feed) return;
        title("Feed: " + board_.feed->standard);
        text_ += wrapped("  ", figures_of(feed_fields(), *board_.feed));
    }

    void write_nodes() {
        title("Nodes");
        WrappedTable table;
        for (const NodePins& node : nodes_of(board_)) {
            table.row({node.node}, fmt::format("{}", fmt::join(node.pins, ", ")));
        }
        text_ += table.text();
    }

    void write_feedback() {
        title("Feedback: shortest path from the output to each input");
        WrappedTable table;
        const std::vector<FeedbackLoop> loops = feedback_loops(board_);
        for (const FeedbackLoop& loop : loops) {
            table.row({loop.amplifier + "." + loop.input, std::string(text_of(loop.sense))},
                      way_text(loop));
        }
        text_ += loops.empty() ? "  none\n" : table.text();
    }

    void write_findings() {
        title("Findings");
        for (const Diagnostic& d : assembly_.findings) {
            const bool error = d.severity == Severity::error;
            const std::string place =
                d.at.source ? fmt::format(" ({}:{})", d.at.source->path, d.at.line) : "";
            text_ += wrapped(
                error ? "  error: " : "  warning: ",
                for_terminal(fmt::format("{}{}: {} [{}]", d.subject, place, d.found, d.code)));
            if (!d.advice.empty()) text_ += wrapped("    advice: ", for_terminal(d.advice));
        }
        if (assembly_.findings.empty()) text_ += "  none\n";
    }

    const InspectedAssembly& assembly_;
    const Board& board_;
    bool bold_;
    std::string text_;
};

}  // namespace

std::string title_of(const InspectedAssembly& assembly) {
    return board_title(assembly.board.name, assembly.board.revision, assembly.variant);
}

std::string inspect_text(const InspectedAssembly& assembly, bool bold) {
    return InspectWriter(assembly, bold).text();
}

}  // namespace lowhiss::cli
