#include "lowhiss/topology/feedback.hpp"

#include <boost/graph/strong_components.hpp>
#include <boost/range/iterator_range.hpp>

#include <algorithm>
#include <deque>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/topology/findings.hpp"
#include "lowhiss/topology/signal_graph.hpp"

namespace lowhiss {
namespace {

using Vertex = SignalGraph::Graph::vertex_descriptor;
using Sense = FeedbackLoop::Sense;

Sense turned(Sense sense) {
    if (sense == Sense::unknown) return sense;
    return sense == Sense::negative ? Sense::positive : Sense::negative;
}

/// The amplifier pins of a part and its effect on the sign of a signal.
struct SignalRole {
    struct Input {
        std::size_t pin;
        Sense sense;  ///< positive if the output follows the pin, negative if it inverts
    };
    std::vector<Input> inputs{};  ///< empty for parts that are no amplifier
    std::size_t output = 0;       ///< pin of an amplifier
    bool keeps_sign = true;       ///< false if the sign depends on how the part is connected
};

/// One overload per kind of part.
struct RoleOf {
    SignalRole operator()(const OpAmp&) const {
        return {{{0, Sense::positive}, {1, Sense::negative}}, 2};
    }
    /// The output of each half is fed back to its gain pin.
    SignalRole operator()(const PreampIc&) const {
        return {{{0, Sense::positive},
                 {1, Sense::negative},
                 {2, Sense::negative},
                 {3, Sense::positive},
                 {5, Sense::positive}},
                4};
    }
    template <OneOf<Transformer, Bipolar, Jfet, ControlledSource> Data>
    SignalRole operator()(const Data&) const {
        SignalRole role;
        role.keeps_sign = false;
        return role;
    }
    template <OneOf<Resistor, Capacitor, Inductor, Potentiometer, Link, IndependentSource, Diode,
                    Battery, Regulator>
                  Data>
    SignalRole operator()(const Data&) const {
        return {};
    }
};

SignalRole role_of(const Part& part) {
    return std::visit(RoleOf{}, part.data);
}

/// Searches paths from outputs back to inputs. Since every input leads to its own output, a path
/// exists exactly if both are in one strongly connected component.
class LoopSearch {
  public:
    explicit LoopSearch(const SignalGraph& signals)
        : signals_(signals),
          component_(boost::num_vertices(signals.graph)),
          from_(component_.size()),
          search_(component_.size(), 0) {
        boost::strong_components(signals.graph, component_.data());
    }

    bool comes_back(const Part& amplifier, std::size_t input, std::size_t output) const {
        const std::size_t in = vertex(amplifier, input);
        const std::size_t out = vertex(amplifier, output);
        return !signals_.grounded[in] && !signals_.grounded[out] &&
               component_[in] == component_[out];
    }

    /// The vertices of the shortest path, alternately nodes and gates. Breadth first, no further
    /// than needed.
    std::vector<Vertex> way(const Part& amplifier, std::size_t input, std::size_t output) {
        const Vertex start = vertex(amplifier, output);
        const Vertex goal = vertex(amplifier, input);
        ++searches_;
        std::deque<Vertex> queue{start};
        search_[start] = searches_;
        for (; search_[goal] != searches_; queue.pop_front())
            visit(queue.front(), amplifier, queue);
        std::vector<Vertex> way{goal};
        while (way.back() != start) way.push_back(from_[way.back()]);
        std::reverse(way.begin(), way.end());
        return way;
    }

  private:
    Vertex vertex(const Part& part, std::size_t pin) const {
        return static_cast<Vertex>(signals_.node(part.pins[pin].node));
    }

    void visit(Vertex v, const Part& amplifier, std::deque<Vertex>& queue) {
        for (const Vertex w :
             boost::make_iterator_range(boost::adjacent_vertices(v, signals_.graph))) {
            const bool own_gate = w >= signals_.nodes.size() && signals_.gate(w).part == &amplifier;
            if (search_[w] == searches_ || own_gate) continue;
            search_[w] = searches_;
            from_[w] = v;
            queue.push_back(w);
        }
    }

    const SignalGraph& signals_;
    std::vector<int> component_;
    std::vector<Vertex> from_;
    std::vector<int> search_;
    int searches_ = 0;
};

/// The sense of a loop behind a gate that it enters at node `from` and leaves at `to`.
Sense through(const SignalGraph& signals, const SignalGraph::Gate& gate, std::size_t from,
              std::size_t to, Sense sense) {
    if (!gate.part) return sense;
    const SignalRole role = role_of(*gate.part);
    if (!role.keeps_sign) return Sense::unknown;
    const auto node = [&](std::size_t pin) {
        return static_cast<std::size_t>(signals.node(gate.part->pins[pin].node));
    };
    if (role.inputs.empty() || node(role.output) != to) return sense;
    for (const auto& [pin, own] : role.inputs) {
        if (node(pin) == from && own == Sense::negative) return turned(sense);
    }
    return sense;
}

FeedbackLoop described(const SignalGraph& signals, const Part& amplifier,
                       const SignalRole::Input& input, const std::vector<Vertex>& way) {
    FeedbackLoop loop{amplifier.name, pin_name(amplifier, input.pin), input.sense, {}, {}};
    for (std::size_t k = 0; k < way.size(); k += 2) loop.nodes.push_back(signals.nodes[way[k]]);
    for (std::size_t k = 1; k < way.size(); k += 2) {
        const SignalGraph::Gate& gate = signals.gate(way[k]);
        loop.parts.push_back(gate.name);
        loop.sense = through(signals, gate, way[k - 1], way[k + 1], loop.sense);
    }
    return loop;
}

/// The fault in the feedback of an op-amp.
enum class Lack { none, feedback, negative_feedback, node_of_its_own };

Lack lack_of(const Part& part, const SignalGraph& signals, const LoopSearch& search,
             const SignalGraph& direct, LoopSearch& direct_search) {
    const SignalRole role = role_of(part);
    const auto output = static_cast<std::size_t>(signals.node(part.pins[role.output].node));
    if (signals.grounded[output]) return Lack::node_of_its_own;
    if (search.comes_back(part, 1, role.output)) return Lack::none;
    if (!direct_search.comes_back(part, 0, role.output)) return Lack::feedback;
    const FeedbackLoop loop =
        described(direct, part, role.inputs.front(), direct_search.way(part, 0, role.output));
    // An inverting stage in the loop makes feedback to the plus input negative.
    if (loop.sense == Sense::negative) return Lack::none;
    return loop.sense == Sense::positive ? Lack::negative_feedback : Lack::feedback;
}

Finding lack_finding(const Netlist& netlist, int number, Lack lack) {
    const Part& part = *netlist.part[static_cast<std::size_t>(number)];
    const std::string& plus = part.pins[0].node;
    const std::string& minus = part.pins[1].node;
    const std::string& output = part.pins[2].node;
    Finding result = finding(netlist, Severity::warning, "no-feedback", number);
    Diagnostic& d = result.diagnostic;
    if (lack == Lack::node_of_its_own) {
        d.code = "output-on-ground";
        d.found = fmt::format("the output is on '{}', which is ground", output);
        d.accepted = "an output on a node of its own";
        d.advice = splitter_advice(netlist, {number});
        if (d.advice.empty()) d.advice = "give it a node of its own";
        return result;
    }
    d.accepted = "a path through parts that does not pass ground or a supply";
    if (lack == Lack::negative_feedback) {
        d.code = "inputs-exchanged";
        d.found = fmt::format(
            "the output '{}' is fed back to the plus input '{}' and not to the minus input '{}': "
            "positive feedback at direct current, which nothing limits",
            output, plus, minus);
        d.accepted = "feedback to the minus input";
        d.advice = "did you exchange plus and minus?";
        return result;
    }
    d.found = fmt::format("there is no feedback from the output '{}' to the minus input '{}'",
                          output, minus);
    d.advice = "connect the output to the minus input, directly or by a part";
    return result;
}

}  // namespace

std::string_view text_of(FeedbackLoop::Sense sense) {
    switch (sense) {
        case Sense::negative:
            return "negative";
        case Sense::positive:
            return "positive";
        case Sense::unknown:
            return "";
    }
    return "";
}

std::vector<FeedbackLoop> feedback_loops(const Board& assembled) {
    const SignalGraph signals = signal_graph_of(assembled);
    LoopSearch search(signals);
    std::vector<FeedbackLoop> loops;
    for (const Part& part : assembled.parts) {
        if (!part.fitted) continue;
        const SignalRole role = role_of(part);
        for (const SignalRole::Input& input : role.inputs) {
            if (!search.comes_back(part, input.pin, role.output)) continue;
            loops.push_back(
                described(signals, part, input, search.way(part, input.pin, role.output)));
        }
    }
    return loops;
}

void find_missing_feedback(const Netlist& netlist, Findings& out) {
    const SignalGraph signals = signal_graph_of(netlist.board);
    const LoopSearch search(signals);
    const SignalGraph direct = signal_graph_of(netlist.board, Signals::direct);
    LoopSearch direct_search(direct);
    std::vector<std::pair<int, Lack>> lacking;
    for (std::size_t k = 0; k < netlist.part.size(); ++k) {
        const Part* part = netlist.part[k];
        if (!part || !std::holds_alternative<OpAmp>(part->data)) continue;
        const Lack lack = lack_of(*part, signals, search, direct, direct_search);
        if (lack != Lack::none) lacking.emplace_back(static_cast<int>(k), lack);
    }
    report(
        lacking,
        [&](const std::pair<int, Lack>& one) {
            return lack_finding(netlist, one.first, one.second);
        },
        out);
}

}  // namespace lowhiss
