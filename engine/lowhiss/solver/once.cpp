#include "lowhiss/solver/once.hpp"
#include "lowhiss/circuit/index.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lowhiss {
namespace {

/// A(s) = G + s C of every slot, in place: of a pivot's row or column at least one is free of s, so
/// that products of two coefficients of s do not arise.
struct Values {
    std::vector<double> g;
    std::vector<double> c;

    void run(const Elimination& once) {
        const int* target = once.targets.data();
        for (std::size_t k = 0; k < once.pivot.size(); ++k) {
            const double inverse = 1 / g[at(once.pivot[k])];
            const auto upper = once.upper.of(k);
            for (const int lower : once.lower.of(k)) {
                const double lg = g[at(lower)] *= inverse;
                const double lc = c[at(lower)] *= inverse;
                for (const int u : upper) {
                    const std::size_t to = at(*target++);
                    g[to] -= lg * g[at(u)];
                    c[to] -= lg * c[at(u)] + lc * g[at(u)];
                }
            }
            for (const int u : upper) {
                g[at(u)] *= inverse;
                c[at(u)] *= inverse;
            }
        }
    }

    std::vector<LinearTerm> of(const std::vector<Term>& terms) const {
        std::vector<LinearTerm> result;
        result.reserve(terms.size());
        for (const auto& [to, from, slot] : terms) {
            result.push_back({to, from, g[at(slot)], c[at(slot)]});
        }
        return result;
    }
};

}  // namespace

Reduced reduce(const Plan& plan, const Pencil& pencil) {
    const Program& program = *plan.program;
    Values values{pencil.g, pencil.c};
    values.g.resize(at(program.once_slots));
    values.c.resize(at(program.once_slots));
    values.run(program.once);

    Reduced result{std::vector<double>(at(program.slots)),
                   std::vector<double>(at(program.slots)),
                   {},
                   values.of(program.lower.once),
                   values.of(program.upper.once),
                   values.of(program.lower_transposed.once),
                   values.of(program.upper_transposed.once),
                   std::numeric_limits<double>::infinity(),
                   0};
    for (std::size_t k = 0; k < program.once_steps(); ++k) {
        const double scale =
            plan.scaling.row[at(program.row_of[k])] * plan.scaling.column[at(program.column_of[k])];
        const double pivot = values.g[at(program.once.pivot[k])];
        result.inverse.push_back(1 / pivot);
        result.smallest_pivot = std::min(result.smallest_pivot, std::abs(pivot) * scale);
        result.largest_pivot = std::max(result.largest_pivot, std::abs(pivot) * scale);
    }
    for (std::size_t k = 0; k < result.g.size(); ++k) {
        if (program.origin[k] < 0) continue;
        result.g[k] = values.g[at(program.origin[k])];
        result.c[k] = values.c[at(program.origin[k])];
    }
    return result;
}

std::vector<RemainingEntry> remaining_entries(const Plan& plan, const Pencil& pencil) {
    const Program& program = *plan.program;
    const Reduced reduced = reduce(plan, pencil);
    const int first = static_cast<int>(program.once_steps());
    std::vector<RemainingEntry> entries;
    const auto add = [&](int row, int column, int slot) {
        if (program.origin[at(slot)] < 0) return;
        entries.push_back({row - first, column - first, reduced.g[at(slot)], reduced.c[at(slot)]});
    };
    for (std::size_t k = 0; k < program.each.pivot.size(); ++k) {
        const int step = first + static_cast<int>(k);
        add(step, step, program.each.pivot[k]);
    }
    for (const auto& [row, column, slot] : program.lower.each) add(row, column, slot);
    for (const auto& [row, column, slot] : program.upper.each) add(row, column, slot);
    return entries;
}

}  // namespace lowhiss
