#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "lowhiss/topology/check.hpp"

namespace lowhiss {

Diagnostics check_assembly(const Board& assembled, const Capsule* capsule,
                           std::span<const double> rotations) {
    Diagnostics all;
    std::set<std::string> known;
    for (const double rotation : rotations) {
        const Circuit circuit = build_circuit(assembled, rotation, capsule);
        for (Diagnostic& d : check_topology(assembled, circuit)) {
            if (known.insert(to_text(d)).second) all.push_back(std::move(d));
        }
    }
    std::stable_partition(all.begin(), all.end(),
                          [](const Diagnostic& d) { return d.severity == Severity::error; });
    return all;
}

}  // namespace lowhiss
