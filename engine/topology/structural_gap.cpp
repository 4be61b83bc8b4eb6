#include "findings.hpp"
#include "lowhiss/equations/pencil.hpp"
#include "matching.hpp"

namespace lowhiss {
namespace {

/// The places of G + sC that are not zero at every s.
Pattern nonzero_places(const Pencil& pencil) {
    std::vector<bool> kept(static_cast<std::size_t>(pencil.slots()));
    for (std::size_t slot = 0; slot < kept.size(); ++slot) {
        kept[slot] = pencil.g[slot] != 0 || pencil.c[slot] != 0;
    }
    for (const auto& measured : pencil.measured)
        kept[static_cast<std::size_t>(measured.slot)] = true;
    Pattern pattern{pencil.size, {0}, {}};
    for (int column = 0; column < pencil.size; ++column) {
        const auto first =
            static_cast<std::size_t>(pencil.column_start[static_cast<std::size_t>(column)]);
        const auto last =
            static_cast<std::size_t>(pencil.column_start[static_cast<std::size_t>(column) + 1]);
        for (std::size_t slot = first; slot < last; ++slot) {
            if (kept[slot]) pattern.row.push_back(pencil.row[slot]);
        }
        pattern.start.push_back(static_cast<int>(pattern.row.size()));
    }
    return pattern;
}

/// The part that brings each unknown which is no node's voltage.
class OwnUnknowns {
  public:
    explicit OwnUnknowns(const Circuit& circuit) : part(circuit.unknowns.size(), -1) {
        for (const Element& element : circuit.elements) {
            part_ = element.part;
            std::visit(*this, element.law);
        }
    }

    template <class Law>
    void operator()(const Law& e) {
        if constexpr (requires { e.current; }) belongs(e.current);
        if constexpr (requires { e.charge; }) belongs(e.charge);
        if constexpr (requires { e.x1; }) {
            belongs(e.x1);
            if (e.x2 >= 0) belongs(e.x2);
        }
        if constexpr (requires { e.buffer_currents; }) {
            for (const int unknown : e.buffer_currents) belongs(unknown);
            for (const int unknown : e.integrators) belongs(unknown);
        }
    }

    std::vector<int> part;

  private:
    void belongs(int unknown) { part[static_cast<std::size_t>(unknown)] = part_; }

    int part_ = 0;
};

std::vector<int> parts_of(const Netlist& netlist, const OwnUnknowns& own, int unknown) {
    const int nodes = static_cast<int>(netlist.circuit.nodes.size()) - 1;
    if (unknown >= nodes) return {own.part[static_cast<std::size_t>(unknown)]};
    return parts_on(netlist, {unknown + 1});
}

Finding gap(const Netlist& netlist, const OwnUnknowns& own, int unknown) {
    std::vector<int> parts = parts_of(netlist, own, unknown);
    if (parts.empty()) parts = {load_index(netlist.circuit)};
    Finding result = finding(netlist, Severity::error, "no-unique-solution", parts.front());
    Diagnostic& d = result.diagnostic;
    d.found = fmt::format("no equation is left for {}, whatever the values; it belongs to {}",
                          netlist.circuit.unknowns[static_cast<std::size_t>(unknown)],
                          references(netlist, parts));
    d.accepted = "as many independent equations as voltages and currents";
    d.advice = "look for a source that controls itself, or a control that nothing drives";
    return result;
}

}  // namespace

void find_structural_gap(const Netlist& netlist, Findings& out) {
    const std::vector<int> row_of = maximum_matching(nonzero_places(assemble(netlist.circuit)));
    std::vector<int> unmatched;
    for (std::size_t k = 0; k < row_of.size(); ++k) {
        if (row_of[k] < 0) unmatched.push_back(static_cast<int>(k));
    }
    if (unmatched.empty()) return;
    const OwnUnknowns own(netlist.circuit);
    report(
        unmatched, [&](int unknown) { return gap(netlist, own, unknown); }, out);
}

}  // namespace lowhiss
