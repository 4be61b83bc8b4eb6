#include "draw/drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <unordered_map>

#include "draw/columns.hpp"
#include "lowhiss/board/labels.hpp"
#include "lowhiss/quantity/print.hpp"
#include "shell/names.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::string_view graph_head =
    R"(  rankdir=LR; ranksep=0.25; nodesep=0.16; splines=spline; outputorder=edgesfirst;
  bgcolor="white"; labelloc=t; fontname="Helvetica"; fontsize=14; fontcolor="#1a1a1a";
  node [fontname="Helvetica", fontsize=10, color="#444444", fontcolor="#1a1a1a", penwidth=0.8];
  edge [color="#444444", penwidth=0.9];
)";

constexpr std::string_view node_style = R"(  node [shape=ellipse, style=filled, fillcolor="#ffffff",
    margin="0.03,0", height=0.17, width=0.2, fontsize=9, fontcolor="#1f4e79", color="#1f4e79"];
)";

constexpr std::string_view part_style =
    R"(  node [shape=box, margin="0.06,0.03", height=0.3, width=0.4,
    fontsize=10, fontcolor="#1a1a1a", color="#444444"];
)";

std::string_view fill_of(const Part& part) {
    struct Fill {
        std::string_view operator()(const Resistor&) const { return "#ffffff"; }
        std::string_view operator()(const Capacitor&) const { return "#e6f0fa"; }
        std::string_view operator()(const Inductor&) const { return "#efe8f8"; }
        std::string_view operator()(const Transformer&) const { return "#efe8f8"; }
        std::string_view operator()(const Potentiometer&) const { return "#fde8d4"; }
        std::string_view operator()(const Link&) const { return "#f2f2f2"; }
        std::string_view operator()(const OpAmp&) const { return "#fdf5d8"; }
        std::string_view operator()(const PreampIc&) const { return "#fdf5d8"; }
        std::string_view operator()(const Bipolar&) const { return "#fdf5d8"; }
        std::string_view operator()(const Jfet&) const { return "#fdf5d8"; }
        std::string_view operator()(const ControlledSource&) const { return "#fdf5d8"; }
        std::string_view operator()(const IndependentSource&) const { return "#e4f4e2"; }
        std::string_view operator()(const Diode&) const { return "#fbe7ec"; }
        std::string_view operator()(const Regulator&) const { return "#e4f4e2"; }
        std::string_view operator()(const Battery&) const { return "#e4f4e2"; }
    };
    return std::visit(Fill{}, part.data);
}

bool is_knob(const Board& board, const Part& part) {
    if (!board.knob) return false;
    const auto& gang = board.knob->parts;
    return std::find(gang.begin(), gang.end(), part.name) != gang.end();
}

/// A pin's name in the drawing.
std::string pin_mark(const Part& part, std::size_t pin) {
    const std::string name = pin_name(part, pin);
    if (name == "plus" || name == "p") return "+";
    if (name == "minus" || name == "n") return "−";
    if (std::holds_alternative<PreampIc>(part.data) && (pin == 2 || pin == 3)) return "gain";
    if (name == "reference") return "ref";
    if (name == "supply.1") return "V+";
    if (name == "supply.2") return "V−";
    const auto dot = name.find('.');
    return dot == std::string::npos ? name : name.substr(dot + 1);
}

/// The two sides of a box with named pins.
struct Sides {
    std::vector<std::size_t> left, right;
};
Sides sides_of(const Part& part) {
    const bool supplied = part.pins.size() == 5 || part.pins.size() == 8;
    if (std::holds_alternative<OpAmp>(part.data)) {
        return supplied ? Sides{{0, 1}, {3, 2, 4}} : Sides{{0, 1}, {2}};
    }
    if (std::holds_alternative<PreampIc>(part.data)) {
        return supplied ? Sides{{0, 1, 2, 3}, {6, 4, 5, 7}} : Sides{{0, 1, 2, 3}, {4, 5}};
    }
    if (std::holds_alternative<Bipolar>(part.data) || std::holds_alternative<Jfet>(part.data)) {
        return {{1}, {0, 2}};
    }
    if (part.pins.size() == 4) return {{0, 1}, {2, 3}};
    if (part.pins.size() == 3) return {{0}, {1, 2}};
    return {{0}, {1}};
}

class Drawing {
  public:
    Drawing(const Board& board, std::string_view title)
        : board_(board), nodes_(nodes_of(board)), columns_(columns_of(board)) {
        for (std::size_t k = 0; k < nodes_.size(); ++k) index_.emplace(nodes_[k].node, k);
        text_ = fmt::format(R"(graph "{0}" {{
  label="{0}";
{1})",
                            for_graphviz(title), graph_head);
    }

    std::string text() {
        draw_nodes();
        draw_input();
        for (std::size_t k = 0; k < board_.parts.size(); ++k) {
            if (board_.parts[k].fitted) draw_part(k);
        }
        draw_output();
        return text_ + "}\n";
    }

  private:
    void line(std::string_view content) { text_ += fmt::format("  {}\n", content); }

    void draw_nodes() {
        text_ += node_style;
        for (std::size_t k = 1; k < nodes_.size(); ++k) {
            line(fmt::format(R"(n{} [label="{}"];)", k, for_graphviz(nodes_[k].node)));
        }
        text_ += part_style;
    }

    void draw_terminal_box(std::string_view id, const std::string& label) {
        line(fmt::format(
            R"({} [style="rounded,filled", fillcolor="#e4f4e2", penwidth=1.4, label="{}"];)", id,
            label));
    }

    void draw_input() {
        const std::string& capsule = board_.input.capsule;
        draw_terminal_box("input", "input\\n" + for_graphviz(capsule.empty() ? "ideal" : capsule));
        for (const Pin* pin : {&board_.input.plus, &board_.input.minus}) {
            draw_edge("input", -1, pin->node, pin == &board_.input.plus ? "+" : "−", true);
        }
    }

    void draw_output() {
        std::string label = "output";
        const Output& output = board_.output;
        if (output.load_ohm != infinite)
            label += "\\n" + print_quantity(output.load_ohm, Unit::ohm);
        if (output.cable_f > 0) label += "\\n" + print_quantity(output.cable_f, Unit::farad);
        draw_terminal_box("output", label);
        const int right_of_all = std::numeric_limits<int>::max();
        for (const Pin* pin : {&output.plus, &output.minus}) {
            draw_edge("output", right_of_all, pin->node, pin == &output.plus ? "+" : "−", true);
        }
    }

    void draw_part(std::size_t number) {
        const Part& part = board_.parts[number];
        const std::string id = fmt::format("p{}", number);
        const int column = columns_.part[number];
        const bool live = is_in_circuit(part);
        if (has_plain_box(part)) {
            draw_plain_box(id, part);
            for (const std::size_t pin : plain_pins(part)) {
                draw_edge(id, column, part.pins[pin].node, "", live);
            }
            return;
        }
        draw_box_with_pins(id, part);
        const Sides sides = sides_of(part);
        for (const std::size_t pin : sides.left) draw_port(id, pin, part, true);
        for (const std::size_t pin : sides.right) draw_port(id, pin, part, false);
    }

    /// Parts whose pins need no names: two equal ends, or a potentiometer wired as a rheostat.
    static bool has_plain_box(const Part& part) {
        if (part.pins.size() == 2) return pin_name(part, 0).empty();
        return part.pins.size() == 3 && std::holds_alternative<Potentiometer>(part.data) &&
               (part.pins[1].node == part.pins[0].node || part.pins[1].node == part.pins[2].node);
    }

    static std::vector<std::size_t> plain_pins(const Part& part) {
        return {0, part.pins.size() - 1};
    }

    /// Name, value, and "knob" if it is; each text escaped by `safe`.
    template <class Safe>
    std::string caption(const Part& part, std::string_view line_break, Safe safe) const {
        return fmt::format("{}{}{}{}", safe(part.name), line_break, safe(value_text(part)),
                           is_knob(board_, part) ? fmt::format("{}knob", line_break) : "");
    }

    void draw_plain_box(const std::string& id, const Part& part) {
        const bool live = is_in_circuit(part);
        const std::string_view more = !live                   ? R"(, fontcolor="#777777")"
                                      : is_knob(board_, part) ? ", penwidth=1.6"
                                                              : "";
        line(fmt::format(R"({} [style="{}", fillcolor="{}"{}, label="{}"];)", id,
                         live ? "filled" : "filled,dashed", fill_of(part), more,
                         caption(part, R"(\n)", for_graphviz)));
    }

    static std::string pin_column(const Part& part, const std::vector<std::size_t>& pins) {
        std::string rows;
        for (const std::size_t pin : pins) {
            rows += fmt::format(R"(<TR><TD PORT="{}"><FONT POINT-SIZE="9">{}</FONT></TD></TR>)",
                                pin, for_graphviz_label(pin_mark(part, pin)));
        }
        return fmt::format(
            R"(<TD><TABLE BORDER="0" CELLBORDER="0" CELLSPACING="1" CELLPADDING="1">{}</TABLE></TD>)",
            rows);
    }

    void draw_box_with_pins(const std::string& id, const Part& part) {
        const Sides sides = sides_of(part);
        line(fmt::format(
            R"({} [shape=plain, label=<<TABLE BORDER="{}" CELLBORDER="0" CELLSPACING="0")"
            R"( CELLPADDING="1" BGCOLOR="{}"><TR>{}<TD>{}</TD>{}</TR></TABLE>>];)",
            id, is_knob(board_, part) ? 2 : 1, fill_of(part), pin_column(part, sides.left),
            caption(part, "<BR/>", for_graphviz_label), pin_column(part, sides.right)));
    }

    /// An edge from left to right, as Graphviz ranks its ends.
    void connect(const std::string& from, const std::string& to, bool from_is_left,
                 std::string_view attributes) {
        line(fmt::format("{} -- {}{};", from_is_left ? from : to, from_is_left ? to : from,
                         attributes.empty() ? "" : fmt::format(" [{}]", attributes)));
    }

    std::string ground_mark() {
        std::string id = fmt::format("g{}", grounds_++);
        line(fmt::format(R"({} [shape=invtriangle, style=filled, fillcolor="#444444", width=0.14,)"
                         R"( height=0.1, label="", tooltip="{}"];)",
                         id, for_graphviz(board_.ground)));
        return id;
    }

    void draw_port(const std::string& id, std::size_t pin, const Part& part, bool left) {
        const std::string port = fmt::format("{}:{}:{}", id, pin, left ? "w" : "e");
        const std::size_t node = index_.at(part.pins[pin].node);
        if (node == 0)
            connect(port, ground_mark(), !left, "");
        else
            connect(port, fmt::format("n{}", node), !left, "");
    }

    void draw_edge(const std::string& id, int column, const std::string& node_name,
                   std::string_view mark, bool live) {
        const std::size_t node = index_.at(node_name);
        std::string attributes = live ? "" : R"(style=dashed, color="#999999")";
        if (!mark.empty()) attributes = fmt::format(R"(label="{}", fontsize=9)", mark);
        if (node == 0) return connect(id, ground_mark(), true, attributes);
        if (!live) attributes += ", weight=0";
        connect(id, fmt::format("n{}", node), column < columns_.node[node], attributes);
    }

    const Board& board_;
    std::vector<NodePins> nodes_;
    Columns columns_;
    std::unordered_map<std::string, std::size_t> index_;
    int grounds_ = 0;
    std::string text_;
};

}  // namespace

std::string graph_text(const Board& assembled, std::string_view title) {
    return Drawing(assembled, title).text();
}

}  // namespace lowhiss::cli
