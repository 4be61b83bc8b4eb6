#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "lowhiss/topology/joins.hpp"

namespace lowhiss {

/// A diagnostic with the part that it is about, an index into Circuit::parts.
struct Finding {
    int part;
    Diagnostic diagnostic;
};
using Findings = std::vector<Finding>;

Finding finding(const Netlist& netlist, Severity severity, std::string code, int part);

/// One finding of each subject, of the first twenty; the last says how many more there are. A board
/// made by a program can have the same fault a hundred thousand times.
template <class Subject, class Make>
void report(const std::vector<Subject>& subjects, Make make, Findings& out) {
    constexpr std::size_t most = 20;
    for (std::size_t k = 0; k < std::min(most, subjects.size()); ++k) {
        out.push_back(make(subjects[k]));
    }
    if (subjects.size() <= most) return;
    out.back().diagnostic.found += fmt::format("; {} more like this", subjects.size() - most);
}

// The rules, one a file.

/// no-path-to-ground, only-current-sources. Returns the nodes they are about.
std::vector<bool> find_islands(const Netlist& netlist, const Joins& joins, Findings& out);

/// loop-of-shorts
void find_loops(const Netlist& netlist, const Joins& joins, Findings& out);

/// no-unique-solution: what is left after the others found nothing.
void find_structural_gap(const Netlist& netlist, Findings& out);

/// no-direct-path, of nodes that are not `reported` already
void find_floating_bias(const Netlist& netlist, const Joins& joins,
                        const std::vector<bool>& reported, Findings& out);

/// lone-pin, of nodes that are not `reported` already
void find_lone_pins(const Netlist& netlist, const std::vector<bool>& reported, Findings& out);

/// shorted-part
void find_shorted_parts(const Netlist& netlist, Findings& out);

/// no-feedback
void find_missing_feedback(const Netlist& netlist, Findings& out);

}  // namespace lowhiss
