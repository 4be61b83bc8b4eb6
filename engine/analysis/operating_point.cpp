#include "lowhiss/analysis/operating_point.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "lowhiss/board/diagnostic.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {
namespace {

constexpr int undamped_steps = 60;
constexpr int most_steps = 200;
constexpr double settled_v = 1e-9;
constexpr double settled_part = 1e-9;

class Newton {
  public:
    explicit Newton(const Circuit& circuit)
        : circuit_(circuit), bias_(circuit.elements.size()), x_(circuit.unknowns.size()) {
        for (ElementBias& bias : bias_) bias.supply_v = infinite;  // until a solution says more
        for (std::size_t k = 0; k < bias_.size(); ++k) {
            if (std::holds_alternative<RegulatorStage>(circuit.elements[k].law)) {
                bias_[k].supply_v = 1;
            }
        }
    }

    OperatingPoint solve() {
        if (settle(1)) return found();
        const Newton fresh(circuit_);
        bias_ = fresh.bias_;
        x_ = fresh.x_;
        for (int tenth = 1; tenth <= 10; ++tenth) {
            if (!settle(tenth / 10.0)) refuse();
        }
        return found();
    }

  private:
    OperatingPoint found() { return {std::move(x_), std::move(bias_), steps_}; }

    bool settle(double source_scale) {
        for (int step = 0; step < most_steps; ++step) {
            ++steps_;
            std::vector<double> x = solution(source_scale);
            const bool damped = step >= undamped_steps;
            if (damped) {
                for (std::size_t k = 0; k < x.size(); ++k) x[k] = (x[k] + x_[k]) / 2;
            }
            std::vector<ElementBias> next = next_bias(circuit_, bias_, x);
            restless_ = step == 0 ? std::optional<std::size_t>(0) : restless(x, next);
            x_ = std::move(x);
            bias_ = std::move(next);
            if (!restless_) return true;
        }
        return false;
    }

    std::vector<double> solution(double source_scale) const {
        const DirectEquations equations = direct_equations(circuit_, bias_, source_scale);
        const std::vector<Complex> b(equations.b.begin(), equations.b.end());
        std::vector<double> x;
        try {
            ReferenceSolver solver(equations.g);
            solver.factorise(0);
            for (const Complex& value : solver.solve(b)) x.push_back(value.real());
        } catch (const Singular& singular) {
            refuse_singular(singular.unknown);
        }
        return x;
    }

    /// An element that has not settled, if any; 0 stands for none in particular.
    std::optional<std::size_t> restless(const std::vector<double>& x,
                                        const std::vector<ElementBias>& next) const {
        for (std::size_t k = 0; k < next.size(); ++k) {
            if (!next[k].same_piece(bias_[k])) return k;
            const auto* junction = std::get_if<Junction>(&circuit_.elements[k].law);
            if (!junction) continue;
            const double at_v = direct_voltage(x, junction->a) - direct_voltage(x, junction->b);
            if (!(std::abs(at_v - bias_[k].junction_v) <=
                  settled_v + settled_part * std::abs(at_v)))
                return k;
        }
        for (std::size_t node = 0; node + 1 < circuit_.nodes.size(); ++node) {
            const double moved_v = std::abs(x[node] - x_[node]);
            if (!(moved_v <= settled_v + settled_part * std::abs(x[node]))) return 0;
        }
        return std::nullopt;
    }

    [[noreturn]] void refuse() const {
        const auto element = restless_.value_or(0);
        const auto part = static_cast<std::size_t>(circuit_.elements[element].part);
        Diagnostic d;
        d.code = "no-operating-point";
        d.at = circuit_.parts[part].at;
        d.subject = circuit_.parts[part].name;
        d.found = fmt::format("the direct voltages do not settle in {} steps", steps_);
        d.advice = "look there for feedback that is positive at direct current";
        throw Error(Error::Kind::no_unique_solution, {d});
    }

    [[noreturn]] void refuse_singular(int unknown) const {
        Diagnostic d;
        d.code = "no-operating-point";
        d.at = circuit_.parts.front().at;
        d.found = unknown < 0 ? "the direct voltages have no unique solution"
                              : fmt::format("direct current leaves {} free",
                                            circuit_.unknowns[static_cast<std::size_t>(unknown)]);
        d.advice =
            "look there for coils without resistance in a ring, or a node that nothing holds";
        throw Error(Error::Kind::no_unique_solution, {d});
    }

    const Circuit& circuit_;
    std::vector<ElementBias> bias_;
    std::vector<double> x_;
    std::optional<std::size_t> restless_;
    int steps_ = 0;
};

}  // namespace

OperatingPoint operating_point(const Circuit& circuit) {
    return Newton(circuit).solve();
}

bool needs_operating_point(const Circuit& circuit) {
    return std::any_of(circuit.elements.begin(), circuit.elements.end(), [](const Element& e) {
        return std::holds_alternative<Junction>(e.law) ||
               std::holds_alternative<RegulatorStage>(e.law);
    });
}

Circuit small_signal_circuit(const Board& assembled, double rotation, const Capsule* capsule,
                             Drive drive) {
    Circuit circuit = build_circuit(assembled, rotation, capsule, drive);
    if (!needs_operating_point(circuit)) return circuit;
    const OperatingPoint point = operating_point(circuit);
    return linearised(std::move(circuit), point.bias, point.x);
}

}  // namespace lowhiss
