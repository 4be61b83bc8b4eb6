#include <boost/graph/kruskal_min_spanning_tree.hpp>
#include <boost/range/iterator_range.hpp>

#include <deque>
#include <iterator>
#include <set>

#include "lowhiss/topology/findings.hpp"
#include "lowhiss/topology/join_graph.hpp"

namespace lowhiss {
namespace {

using Vertex = boost::graph_traits<JoinGraph>::vertex_descriptor;

/// A closed path: joins in order, each with the node where it is entered.
struct Loop {
    std::vector<int> nodes;
    std::vector<Join> joins;
};

/// Finds the loops that joins close when they are added one by one.
class LoopFinder {
  public:
    LoopFinder(std::size_t nodes, std::vector<Join> joins)
        : nodes_(nodes), joins_(std::move(joins)), graph_(graph_of(nodes, joins_)) {}

    /// Joins whose two ends are already connected by earlier ones: those outside the spanning
    /// forest that prefers earlier joins.
    std::vector<std::size_t> closing() const {
        using Forest =
            boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS, boost::no_property,
                                  boost::property<boost::edge_weight_t, std::size_t>>;
        Forest forest(nodes_);
        for (std::size_t k = 0; k < joins_.size(); ++k) {
            boost::add_edge(static_cast<Vertex>(joins_[k].a), static_cast<Vertex>(joins_[k].b), k,
                            forest);
        }
        std::vector<boost::graph_traits<Forest>::edge_descriptor> chosen;
        boost::kruskal_minimum_spanning_tree(forest, std::back_inserter(chosen));
        std::vector<bool> in_forest(joins_.size());
        for (const auto& edge : chosen)
            in_forest[boost::get(boost::edge_weight, forest, edge)] = true;
        std::vector<std::size_t> list;
        for (std::size_t k = 0; k < joins_.size(); ++k) {
            if (!in_forest[k]) list.push_back(k);
        }
        return list;
    }

    /// The shortest loop of this join and earlier ones.
    Loop loop(std::size_t closing) const {
        const auto a = static_cast<Vertex>(joins_[closing].a);
        const auto b = static_cast<Vertex>(joins_[closing].b);
        const std::vector<Vertex> towards_a = ways_to(a, b, nodes_ + closing);
        Loop loop{{joins_[closing].a}, {joins_[closing]}};
        for (Vertex v = b; v != a; v = towards_a[towards_a[v]]) {
            loop.nodes.push_back(static_cast<int>(v));
            loop.joins.push_back(joins_[towards_a[v] - nodes_]);
        }
        return loop;
    }

  private:
    /// The next vertex of each on its shortest path to `root`, through vertices before `limit`
    /// only. The search ends when it reaches `from`.
    std::vector<Vertex> ways_to(Vertex root, Vertex from, Vertex limit) const {
        std::vector<Vertex> next(boost::num_vertices(graph_), limit);
        next[root] = root;
        std::deque<Vertex> queue{root};
        while (next[from] == limit) {
            const Vertex v = queue.front();
            queue.pop_front();
            for (const Vertex w : boost::make_iterator_range(boost::adjacent_vertices(v, graph_))) {
                if (w >= limit || next[w] != limit) continue;
                next[w] = v;
                queue.push_back(w);
            }
        }
        return next;
    }

    std::size_t nodes_;
    std::vector<Join> joins_;
    JoinGraph graph_;
};

const Element& element_of(const Netlist& netlist, const Join& join) {
    return netlist.circuit.elements[static_cast<std::size_t>(join.element)];
}

/// Rotates the loop so that it begins with its first part in the board's order, entered at its
/// first pin.
void turn(const Netlist& netlist, Loop& loop) {
    const auto first =
        std::min_element(loop.joins.begin(), loop.joins.end(), [&](const Join& a, const Join& b) {
            return std::pair(element_of(netlist, a).part, a.element) <
                   std::pair(element_of(netlist, b).part, b.element);
        });
    const auto steps = first - loop.joins.begin();
    std::rotate(loop.joins.begin(), first, loop.joins.end());
    std::rotate(loop.nodes.begin(), loop.nodes.begin() + steps, loop.nodes.end());
    if (loop.nodes.size() == 1 || loop.nodes[0] == loop.joins[0].a) return;
    std::reverse(loop.joins.begin() + 1, loop.joins.end());
    std::swap(loop.nodes[0], loop.nodes[1]);
    std::reverse(loop.nodes.begin() + 2, loop.nodes.end());
}

/// The parts around the loop, each once: two sections of a potentiometer are one part.
std::vector<int> parts_around(const Netlist& netlist, const Loop& loop) {
    std::vector<bool> seen(netlist.part.size());
    std::vector<int> parts;
    for (const Join& join : loop.joins) {
        const int part = element_of(netlist, join).part;
        if (!seen[static_cast<std::size_t>(part)]) parts.push_back(part);
        seen[static_cast<std::size_t>(part)] = true;
    }
    return parts;
}

/// Advice to change the kind of part in the loop that is easiest to change. `figure` is the key
/// that an amplifier's model would need.
std::string advice_for(const Netlist& netlist, const Loop& loop, std::string_view figure) {
    std::string link;
    std::string potentiometer;
    std::string amplifier;
    const std::vector<int> parts = parts_around(netlist, loop);
    for (const int number : parts) {
        const Part* part = netlist.part[static_cast<std::size_t>(number)];
        if (!part) continue;
        if (std::holds_alternative<Link>(part->data)) link = part->name;
        if (std::holds_alternative<Potentiometer>(part->data)) potentiometer = part->name;
        if (std::holds_alternative<OpAmp>(part->data)) amplifier = part->name;
        if (std::holds_alternative<PreampIc>(part->data)) amplifier = part->name;
    }
    if (!link.empty()) return fmt::format("open the link {}", link);
    if (!potentiometer.empty()) return fmt::format("give {} an end_resistance", potentiometer);
    if (std::string advice = splitter_advice(netlist, parts); !advice.empty()) return advice;
    if (!amplifier.empty())
        return fmt::format("give the model of {} a figure for {}", amplifier, figure);
    if (parts.size() == 1) return "connect its ends to two different nodes";
    return "leave out one of these parts, or put a resistance into the loop";
}

Finding closed_loop(const Netlist& netlist, Loop loop, std::string_view figure) {
    turn(netlist, loop);
    const std::vector<int> parts = parts_around(netlist, loop);
    Finding result = finding(netlist, Severity::error, "loop-of-shorts", parts.front());
    Diagnostic& d = result.diagnostic;
    d.found = fmt::format(
        "it closes a loop without impedance{}, through {}: the current in the loop is "
        "undetermined",
        other_parts(netlist, parts, ", with "), node_names(netlist, loop.nodes));
    d.accepted = "an impedance in every loop";
    d.advice = advice_for(netlist, loop, figure);
    return result;
}

/// Reports the loops that the joins close, except those of the first `known` joins.
void report_loops(const Netlist& netlist, std::vector<Join> joins, std::size_t known,
                  std::string_view figure, Findings& out) {
    const LoopFinder finder(netlist.circuit.nodes.size(), std::move(joins));
    std::vector<std::size_t> closing = finder.closing();
    std::erase_if(closing, [&](std::size_t k) { return k < known; });
    report(
        closing, [&](std::size_t k) { return closed_loop(netlist, finder.loop(k), figure); }, out);
}

bool is_lossless(const Part* part) {
    const auto* t = part ? std::get_if<Transformer>(&part->data) : nullptr;
    return t != nullptr && t->coupling == 1 && t->primary_resistance_ohm == 0 &&
           t->secondary_resistance_ohm == 0;
}

/// In a transformer without losses and leakage inductance, two currents whose fluxes cancel need no
/// voltage; if both windings are shorted these currents are undetermined.
void report_shorted_transformers(const Netlist& netlist, const std::vector<Join>& shorts,
                                 Findings& out) {
    const std::vector<int> component = components_of(netlist.on_node.size(), pairs_of(shorts));
    std::vector<int> shorted_windings(netlist.part.size());
    for (const Element& element : netlist.circuit.elements) {
        const auto part = static_cast<std::size_t>(element.part);
        const auto* winding = std::get_if<Branch>(&element.law);
        if (!winding || !is_lossless(netlist.part[part])) continue;
        if (component[static_cast<std::size_t>(winding->a)] ==
            component[static_cast<std::size_t>(winding->b)]) {
            ++shorted_windings[part];
        }
    }
    std::vector<int> parts;
    for (std::size_t k = 0; k < shorted_windings.size(); ++k) {
        if (shorted_windings[k] == 2) parts.push_back(static_cast<int>(k));
    }
    report(
        parts,
        [&](int part) {
            Finding result = finding(netlist, Severity::error, "loop-of-shorts", part);
            result.diagnostic.found =
                "both windings are shorted, and nothing in the transformer limits their currents";
            result.diagnostic.accepted = "a winding resistance, or a coupling below 1";
            result.diagnostic.advice = "give it a primary_resistance";
            return result;
        },
        out);
}

}  // namespace

void find_loops(const Netlist& netlist, const Joins& joins, Findings& out) {
    report_loops(netlist, joins.unopposed, 0, "output_resistance", out);
    report_shorted_transformers(netlist, joins.unopposed, out);
    std::set<int> unopposed;
    for (const Join& join : joins.unopposed) unopposed.insert(join.element);
    std::vector<Join> fixed = joins.fixed;
    const auto rest = std::stable_partition(fixed.begin(), fixed.end(), [&](const Join& join) {
        return unopposed.contains(join.element) &&
               std::holds_alternative<Branch>(element_of(netlist, join).law);
    });
    const auto known = static_cast<std::size_t>(rest - fixed.begin());
    report_loops(netlist, std::move(fixed), known, "bandwidth", out);
}

}  // namespace lowhiss
