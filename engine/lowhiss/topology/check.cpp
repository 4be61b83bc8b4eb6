#include "lowhiss/topology/check.hpp"

#include <set>

#include "lowhiss/topology/findings.hpp"

namespace lowhiss {
namespace {

Findings find_errors(const Netlist& netlist, const Joins& joins, std::vector<bool>& reported) {
    Findings errors;
    reported = find_islands(netlist, joins, errors);
    find_loops(netlist, joins, errors);
    if (errors.empty()) find_structural_gap(netlist, errors);
    return errors;
}

Findings find_warnings(const Netlist& netlist, const Joins& joins,
                       const std::vector<bool>& reported, const Findings& errors) {
    Findings warnings;
    find_floating_bias(netlist, joins, reported, warnings);
    find_lone_pins(netlist, reported, warnings);
    find_shorted_parts(netlist, warnings);
    find_missing_feedback(netlist, warnings);
    std::set<int> faulty;
    for (const Finding& error : errors) faulty.insert(error.part);
    std::erase_if(warnings, [&](const Finding& warning) {
        return warning.diagnostic.code == "shorted-part" && faulty.contains(warning.part);
    });
    return warnings;
}

/// In the board's order; findings about one part in the order of the rules.
void append_sorted(Findings findings, Diagnostics& out) {
    std::stable_sort(findings.begin(), findings.end(),
                     [](const Finding& a, const Finding& b) { return a.part < b.part; });
    for (Finding& f : findings) out.push_back(std::move(f.diagnostic));
}

}  // namespace

Finding finding(const Netlist& netlist, Severity severity, std::string code, int part) {
    const CircuitPart& named = netlist.circuit.parts[static_cast<std::size_t>(part)];
    return {part, {severity, std::move(code), named.at, named.name, "", "", ""}};
}

Diagnostics check_topology(const Board& assembled, const Circuit& circuit) {
    const Netlist netlist = netlist_of(assembled, circuit);
    const Joins joins = joins_of(netlist);
    std::vector<bool> reported;
    Findings errors = find_errors(netlist, joins, reported);
    Findings warnings = find_warnings(netlist, joins, reported, errors);
    Diagnostics diagnostics;
    append_sorted(std::move(errors), diagnostics);
    append_sorted(std::move(warnings), diagnostics);
    return diagnostics;
}

}  // namespace lowhiss
