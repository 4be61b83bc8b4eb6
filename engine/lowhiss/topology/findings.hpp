#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "lowhiss/topology/joins.hpp"

namespace lowhiss {

// Findings: the results of the rules of topology, which look at the netlist and most of them at its
// joins.

/// A diagnostic and the part that it names, an index into Circuit::parts.
struct Finding {
    int part;
    Diagnostic diagnostic;
};
using Findings = std::vector<Finding>;

Finding finding(const Netlist& netlist, Severity severity, std::string code, int part);

/// A finding for each of the first twenty subjects; the last says how many more there are. A board
/// written by a program can have the same fault a hundred thousand times.
template <class Subject, class Make>
void report(const std::vector<Subject>& subjects, Make make, Findings& out) {
    constexpr std::size_t most = 20;
    for (std::size_t k = 0; k < std::min(most, subjects.size()); ++k) {
        out.push_back(make(subjects[k]));
    }
    if (subjects.size() <= most) return;
    out.back().diagnostic.found +=
        fmt::format("; {} more of the same kind", subjects.size() - most);
}

// The rules, one a file.

/// Reports no-path-to-ground and only-current-sources, and returns the nodes that are reported.
std::vector<bool> find_islands(const Netlist& netlist, const Joins& joins, Findings& out);

/// loop-of-shorts
void find_loops(const Netlist& netlist, const Joins& joins, Findings& out);

/// no-unique-solution; for circuits in which the other rules found no error.
void find_structural_gap(const Netlist& netlist, Findings& out);

/// no-direct-path, for nodes that are not yet `reported`
void find_floating_bias(const Netlist& netlist, const Joins& joins,
                        const std::vector<bool>& reported, Findings& out);

/// lone-pin, for nodes that are not yet `reported`
void find_lone_pins(const Netlist& netlist, const std::vector<bool>& reported, Findings& out);

/// shorted-part
void find_shorted_parts(const Netlist& netlist, Findings& out);

/// no-feedback, inputs-exchanged, output-on-ground
void find_missing_feedback(const Netlist& netlist, Findings& out);

/// Advice for an op-amp among the parts whose output is on ground, as one that was drawn to split a
/// supply; empty if there is none.
std::string splitter_advice(const Netlist& netlist, const std::vector<int>& parts);

}  // namespace lowhiss
