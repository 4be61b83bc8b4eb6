#include "lowhiss/bias/operating_point.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "lowhiss/solver/solver.hpp"
#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {
namespace {

constexpr int undamped_steps = 60;
constexpr int most_steps = 200;
constexpr int patient_steps = 25;
constexpr double conducting_a = 1e-3;
constexpr double settled_v = 1e-9;
constexpr double settled_part = 1e-9;

/// Where the search begins. A load behind a junction that does not conduct would drag its node to
/// nowhere, so at first all of them do, Zener diodes in their breakdown.
enum class Start { conducting, at_rest };

class Newton {
  public:
    explicit Newton(const Circuit& circuit) : circuit_(circuit) {}

    OperatingPoint solve() {
        for (const Start start : {Start::conducting, Start::at_rest}) {
            for (const bool by_tenths : {false, true}) {
                begin(start);
                if (found_by(by_tenths)) return {std::move(x_), std::move(bias_), steps_};
            }
        }
        if (singular_) refuse_singular(*singular_);
        refuse();
    }

  private:
    void begin(Start start) {
        x_.assign(circuit_.unknowns.size(), 0);
        bias_.assign(circuit_.elements.size(), {});
        for (std::size_t k = 0; k < bias_.size(); ++k) {
            const ElementLaw& law = circuit_.elements[k].law;
            const bool regulator = std::holds_alternative<RegulatorStage>(law);
            bias_[k].supply_v = regulator ? 1 : infinite;  // until a solution says more
            const auto* junction = std::get_if<Junction>(&law);
            if (!junction || start == Start::at_rest) continue;
            bias_[k].junction_v =
                junction->breakdown_a > 0
                    ? -junction->breakdown_v
                    : junction->slope_v * std::log(conducting_a / junction->saturation_a);
        }
    }

    bool found_by(bool by_tenths) {
        try {
            for (int tenth = by_tenths ? 1 : 10; tenth <= 10; ++tenth) {
                if (!settle(tenth / 10.0)) return false;
            }
            return true;
        } catch (const Singular& singular) {
            if (!singular_) singular_ = singular.unknown;
            return false;
        }
    }

    /// Amplifiers are let have all they want until the others have settled: with their supply still
    /// on its way they would go from one rail to the other.
    bool settle(double source_scale) {
        bool patient = true;
        for (int step = 0; step < most_steps; ++step) {
            ++steps_;
            std::vector<double> x = solution(source_scale);
            if (step >= undamped_steps) {
                for (std::size_t k = 0; k < x.size(); ++k) x[k] = (x[k] + x_[k]) / 2;
            }
            std::vector<ElementBias> next = next_bias(circuit_, bias_, x);
            if (patient) keep_amplifiers(next);
            restless_ = step == 0 ? std::optional<std::size_t>(0) : restless(x, next);
            x_ = std::move(x);
            bias_ = std::move(next);
            if (!restless_ && !patient) return true;
            patient = patient && restless_ && step < patient_steps;
        }
        return false;
    }

    void keep_amplifiers(std::vector<ElementBias>& next) const {
        for (std::size_t k = 0; k < next.size(); ++k) {
            if (supply_of(circuit_.elements[k])) next[k] = bias_[k];
        }
    }

    std::vector<double> solution(double source_scale) const {
        const DirectEquations equations = direct_equations(circuit_, bias_, source_scale);
        const std::vector<Complex> b(equations.b.begin(), equations.b.end());
        std::vector<double> x;
        ReferenceSolver solver(equations.g);
        solver.factorise(0);
        for (const Complex& value : solver.solve(b)) x.push_back(value.real());
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
        d.advice =
            std::holds_alternative<RegulatorStage>(circuit_.elements[element].law)
                ? "it is asked for more power than its input can give, or its input hovers at the "
                  "least that it works from"
                : "look there for feedback that is positive at direct current";
        throw Error(Error::Kind::no_unique_solution, {d});
    }

    /// The part that brings the unknown, or stands at the node.
    std::size_t part_of(int unknown) const {
        for (const Element& element : circuit_.elements) {
            const bool brings = std::visit(
                [&](const auto& law) {
                    bool found = false;
                    if constexpr (requires { law.current; }) found = law.current == unknown;
                    if constexpr (requires { law.a; }) {
                        found = found || law.a == unknown + 1 || law.b == unknown + 1;
                    }
                    return found;
                },
                element.law);
            if (brings) return static_cast<std::size_t>(element.part);
        }
        return 0;
    }

    [[noreturn]] void refuse_singular(int unknown) const {
        Diagnostic d;
        d.code = "no-operating-point";
        const CircuitPart& part = circuit_.parts[part_of(unknown)];
        d.at = part.at;
        d.subject = unknown < 0 ? "" : part.name;
        d.found = unknown < 0 ? "the direct voltages have no unique solution"
                              : fmt::format("direct current leaves {} free",
                                            circuit_.unknowns[static_cast<std::size_t>(unknown)]);
        d.advice =
            "look there for a voltage across a coil, a diode or an output without a resistance to "
            "take it, or for a node that nothing holds";
        throw Error(Error::Kind::no_unique_solution, {d});
    }

    const Circuit& circuit_;
    std::vector<ElementBias> bias_;
    std::vector<double> x_;
    std::optional<std::size_t> restless_;
    std::optional<int> singular_;  ///< the unknown, of the first start that had no solution
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

Circuit small_signal_circuit(Circuit built, std::optional<OperatingPoint>& point) {
    if (!needs_operating_point(built)) return built;
    if (!point) point = operating_point(built);
    return linearised(std::move(built), point->bias, point->x);
}

Circuit small_signal_circuit(const Board& assembled, double rotation, const Capsule* capsule,
                             Drive drive) {
    std::optional<OperatingPoint> point;
    return small_signal_circuit(build_circuit(assembled, rotation, capsule, drive), point);
}

}  // namespace lowhiss
