#include "lowhiss/topology/signal_graph.hpp"

#include "lowhiss/board/labels.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/topology/components.hpp"

namespace lowhiss {
namespace {

using Nodes = std::vector<int>;

/// Whether a part, a short or a voltage source, holds both its ends at the same signal; one
/// overload per kind.
struct Ties {
    bool operator()(const Resistor& r) const { return r.resistance_ohm == 0; }
    bool operator()(const IndependentSource& s) const {
        return s.kind == IndependentSource::Kind::voltage;
    }
    template <OneOf<Link, Battery> Data>
    bool operator()(const Data&) const {
        return true;
    }
    template <OneOf<Capacitor, Inductor, Transformer, Potentiometer, OpAmp, PreampIc, Bipolar, Jfet,
                    ControlledSource, Diode, Regulator>
                  Data>
    bool operator()(const Data&) const {
        return false;
    }
};

class GraphMaker {
  public:
    GraphMaker(const Board& board, Signals which) : board_(board), which_(which) {
        number(board.ground);
        for (const Part& part : board.parts) {
            for (const Pin& pin : part.pins) number(pin.node);
        }
        for (const Pin* pin : terminals()) number(pin->node);
    }

    SignalGraph make() {
        find_grounded();
        for (const Part& part : board_.parts) {
            if (!is_in_circuit(part)) continue;
            part_ = &part;
            name_ = part.name;
            std::visit(*this, part.data);
        }
        part_ = nullptr;
        add_terminals();
        add_arcs();
        return std::move(made_);
    }

    void operator()(const Resistor&) { both_ways(pins(0, 2)); }
    void operator()(const Capacitor&) {
        if (which_ == Signals::all) both_ways(pins(0, 2));
    }
    void operator()(const Inductor&) { both_ways(pins(0, 2)); }
    void operator()(const Link&) { both_ways(pins(0, 2)); }
    void operator()(const Potentiometer&) { both_ways(pins(0, 3)); }
    void operator()(const Transformer&) {
        if (which_ == Signals::all) return both_ways(pins(0, 4));
        both_ways(pins(0, 2));
        both_ways(pins(2, 2));
    }
    void operator()(const OpAmp&) { one_way(pins(0, 2), pins(2, 1), true); }

    void operator()(const PreampIc&) {
        Nodes inputs = pins(0, 4);
        inputs.push_back(pins(5, 1).front());
        one_way(inputs, pins(4, 1), true);
        one_way(pins(0, 1), pins(2, 1));
        one_way(pins(1, 1), pins(3, 1));
    }

    /// A controlled voltage against ground drives its node as an output does.
    void operator()(const ControlledSource& source) {
        using Kind = ControlledSource::Kind;
        const bool current_controls =
            source.kind == Kind::current_gain || source.kind == Kind::transresistance;
        const bool voltage_results =
            source.kind == Kind::voltage_gain || source.kind == Kind::transresistance;
        const Nodes out = pins(2, 2);
        one_way(pins(0, 2), out, voltage_results && (is_grounded(out[0]) || is_grounded(out[1])));
        if (current_controls) both_ways(pins(0, 2));
        if (voltage_results) both_ways(out);
    }

    void operator()(const IndependentSource& source) {
        if (source.kind == IndependentSource::Kind::voltage) both_ways(pins(0, 2));
    }

    void operator()(const Bipolar&) { both_ways(pins(0, 3)); }
    void operator()(const Jfet&) { both_ways(pins(0, 3)); }
    void operator()(const Diode&) { both_ways(pins(0, 2)); }
    void operator()(const Battery&) { both_ways(pins(0, 2)); }

    /// Supplies are not signal paths.
    void operator()(const Regulator&) {}

  private:
    std::array<const Pin*, 4> terminals() const {
        return {&board_.input.plus, &board_.input.minus, &board_.output.plus, &board_.output.minus};
    }

    void number(const std::string& name) {
        const auto next = static_cast<int>(made_.nodes.size());
        if (made_.node_index.emplace(name, next).second) made_.nodes.push_back(name);
    }

    Nodes pins(std::size_t first, std::size_t count) const {
        Nodes nodes;
        for (std::size_t k = first; k < first + count; ++k) {
            nodes.push_back(made_.node(part_->pins[k].node));
        }
        return nodes;
    }

    void one_way(Nodes in, Nodes out, bool holds_out = false) {
        made_.gates.push_back({part_, name_, std::move(in), std::move(out), holds_out});
    }

    void both_ways(const Nodes& nodes) { one_way(nodes, nodes); }

    void find_grounded() {
        std::vector<NodePair> tied;
        for (const Part& part : board_.parts) {
            if (!is_in_circuit(part) || !std::visit(Ties{}, part.data)) continue;
            tied.emplace_back(made_.node(part.pins[0].node), made_.node(part.pins[1].node));
        }
        for (const int component : components_of(made_.nodes.size(), tied)) {
            made_.grounded.push_back(component == 0);
        }
    }

    void add_terminals() {
        const auto [in_plus, in_minus, out_plus, out_minus] = terminals();
        name_ = "capsule";
        both_ways({made_.node(in_plus->node), made_.node(in_minus->node)});
        if (board_.output.load_ohm == infinite && board_.output.cable_f == 0) return;
        name_ = "load";
        both_ways({made_.node(out_plus->node), made_.node(out_minus->node)});
    }

    bool is_grounded(int node) const { return made_.grounded[static_cast<std::size_t>(node)]; }

    std::vector<bool> held_nodes() const {
        std::vector<bool> held(made_.nodes.size());
        for (const SignalGraph::Gate& gate : made_.gates) {
            if (!gate.holds_out) continue;
            for (const int node : gate.out) held[static_cast<std::size_t>(node)] = true;
        }
        return held;
    }

    void add_arcs() {
        const std::size_t nodes = made_.nodes.size();
        const std::vector<bool> held = held_nodes();
        made_.graph = SignalGraph::Graph(nodes + made_.gates.size());
        for (std::size_t k = 0; k < made_.gates.size(); ++k) {
            const SignalGraph::Gate& gate = made_.gates[k];
            for (const int node : gate.in) {
                const auto from = static_cast<std::size_t>(node);
                if (!is_grounded(node)) boost::add_edge(from, nodes + k, made_.graph);
            }
            for (const int node : gate.out) {
                const auto to = static_cast<std::size_t>(node);
                if (is_grounded(node) || (held[to] && !gate.holds_out)) continue;
                boost::add_edge(nodes + k, to, made_.graph);
            }
        }
    }

    const Board& board_;
    Signals which_;
    const Part* part_ = nullptr;
    std::string name_;
    SignalGraph made_;
};

}  // namespace

SignalGraph signal_graph_of(const Board& assembled, Signals which) {
    return GraphMaker(assembled, which).make();
}

}  // namespace lowhiss
