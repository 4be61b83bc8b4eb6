#include "lowhiss/bias/operating_point.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "lowhiss/circuit/owners.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/solver/pivoting.hpp"
#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {
namespace {

constexpr int undamped_steps = 60;
constexpr int most_steps = 200;
constexpr int patient_steps = 25;
constexpr double conducting_a = 1e-3;

// The search by rising gain: 1 / gain at the beginning, the value that counts as none, and the
// factors by which it falls in one step, at first and when the search is given up.
constexpr double most_inverse_gain = 1;
constexpr double least_inverse_gain = 1e-9;
constexpr double first_gain_factor = 0.1;
constexpr double last_gain_factor = 0.98;

// The search by falling conductances across transistors: the first, and the last before none.
constexpr double most_bridge_siemens = 1e-2;
constexpr double least_bridge_siemens = 1e-13;

constexpr double settled_v = 1e-9;
constexpr double settled_part = 1e-9;

/// When the search fails, the elements that were unsettled in any of the last steps are tried as
/// the cause; each try is a search of its own.
constexpr int observed_steps = 10;
constexpr std::size_t most_suspects = 8;

/// The state that the search begins from. A load behind a junction that does not conduct would pull
/// its node far away, so the first searches begin with all junctions conducting, Zener diodes in
/// breakdown.
enum class Start { conducting, at_rest };

/// The bias that a search begins with, one overload per kind of element.
struct FirstBias {
    Start start;

    ElementBias operator()(const Junction& e) const {
        if (start == Start::at_rest) return JunctionBias{};
        if (e.breakdown_a > 0) return JunctionBias{-e.breakdown_v};
        return JunctionBias{e.slope_v * std::log(conducting_a / e.saturation_a)};
    }
    template <OneOf<Amplifier, PreampStage> Law>
    ElementBias operator()(const Law&) const {
        return AmplifierBias{};
    }
    ElementBias operator()(const Transistor& e) const {
        if (start == Start::at_rest) return TransistorBias{};
        if (const auto* law = std::get_if<BipolarLaw>(&e.law)) {
            return TransistorBias{law->thermal_v * std::log(conducting_a / law->saturation_a), 0};
        }
        const double pinch_off_v = std::get<JfetLaw>(e.law).pinch_off_v;
        return TransistorBias{-pinch_off_v / 2, -2 * pinch_off_v};
    }
    ElementBias operator()(const RegulatorStage&) const { return RegulatorBias{}; }
    template <
        OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
              VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent, CurrentSource>
            Law>
    ElementBias operator()(const Law&) const {
        return LinearBias{};
    }
};

struct SmallSignalsDependOnBias {
    template <OneOf<Junction, Transistor, RegulatorStage> Law>
    bool operator()(const Law&) const {
        return true;
    }
    bool operator()(const SeriesCapacitor& e) const { return e.bias_loss != nullptr; }
    template <OneOf<Conductance, Capacitance, Branch, Coupling, MeasuredBranch, VoltageByVoltage,
                    VoltageByCurrent, CurrentByVoltage, CurrentByCurrent, CurrentSource, Amplifier,
                    PreampStage>
                  Law>
    bool operator()(const Law&) const {
        return false;
    }
};

/// The elements and nodes that have not settled after a step.
struct Unsettled {
    std::vector<std::size_t> elements;
    int unknown = -1;  ///< the node voltage that moved most, or -1

    bool none() const { return elements.empty() && unknown < 0; }
};

class Newton {
  public:
    explicit Newton(const Circuit& circuit) : circuit_(circuit) {}

    OperatingPoint solve() {
        for (const Start start : {Start::conducting, Start::at_rest}) {
            for (const bool by_tenths : {false, true}) {
                begin(start);
                if (found_by(by_tenths)) return {std::move(x_), std::move(bias_)};
            }
        }
        if (found_by_gain()) return {std::move(x_), std::move(bias_)};
        if (found_by_bridges()) return {std::move(x_), std::move(bias_)};
        if (singular_) refuse_singular(*singular_);
        refuse_unsettled();
    }

  private:
    void begin(Start start) {
        x_.assign(circuit_.unknowns.size(), 0);
        bias_.clear();
        for (const Element& element : circuit_.elements) {
            bias_.push_back(std::visit(FirstBias{start}, element.law));
        }
    }

    bool found_by(bool by_tenths) {
        try {
            for (int tenth = by_tenths ? 1 : 10; tenth <= 10; ++tenth) {
                if (!settle({tenth / 10.0, 0})) return false;
            }
            return true;
        } catch (const Singular& singular) {
            if (!singular_) singular_ = singular.unknown;
            return false;
        }
    }

    /// With little gain few outputs are at a rail, and few elements change their state from step to
    /// step while the gain rises to its real value.
    bool found_by_gain() {
        return found_by_easing(most_inverse_gain, least_inverse_gain, [](double eased) {
            return DirectEase{1, eased};
        });
    }

    /// With conductances between a transistor's pins the network around it determines its voltages,
    /// and few elements change their state from step to step while these fall to nothing.
    bool found_by_bridges() {
        const bool any =
            std::any_of(circuit_.elements.begin(), circuit_.elements.end(),
                        [](const Element& e) { return std::holds_alternative<Transistor>(e.law); });
        return any && found_by_easing(most_bridge_siemens, least_bridge_siemens, [](double eased) {
                   return DirectEase{1, 0, eased};
               });
    }

    /// Reduces the ease from `most` to 0, each step from the solution before.
    template <class Ease>
    bool found_by_easing(double most, double least, Ease ease_of) {
        begin(Start::conducting);
        const Unsettled last = unsettled_;
        const std::set<std::size_t> suspects = suspects_;
        double eased = most;
        double factor = first_gain_factor;
        bool found = settled_at(ease_of(eased));
        while (found && eased > 0) {
            const std::vector<double> x = x_;
            const std::vector<ElementBias> bias = bias_;
            const double next = eased * factor < least ? 0 : eased * factor;
            if (settled_at(ease_of(next))) {
                eased = next;
                factor = std::max(factor * factor, first_gain_factor);
                continue;
            }
            x_ = x;
            bias_ = bias;
            factor = std::sqrt(factor);
            found = factor < last_gain_factor;
        }
        if (found) return true;
        unsettled_ = last;  // the searches before say better what does not settle
        suspects_ = suspects;
        return false;
    }

    bool settled_at(const DirectEase& ease) {
        try {
            return settle(ease);
        } catch (const Singular&) {
            return false;
        }
    }

    /// Outputs stay between their rails until the other elements have settled: while their supply
    /// is still rising they would jump from one rail to the other.
    bool settle(const DirectEase& ease) {
        bool patient = true;
        suspects_.clear();
        for (int step = 0; step < most_steps; ++step) {
            ++steps_;
            std::vector<double> x = solution(ease);
            if (step >= undamped_steps) {
                for (std::size_t k = 0; k < x.size(); ++k) x[k] = (x[k] + x_[k]) / 2;
            }
            std::vector<ElementBias> next = next_bias(circuit_, bias_, x);
            if (patient) keep_outputs(next);
            if (frozen_) next[*frozen_] = bias_[*frozen_];
            unsettled_ = unsettled(x, next);
            if (step >= most_steps - observed_steps) {
                suspects_.insert(unsettled_.elements.begin(), unsettled_.elements.end());
            }
            x_ = std::move(x);
            bias_ = std::move(next);
            const bool settled = step > 0 && unsettled_.none();
            if (settled && !patient) return true;
            patient = patient && !settled && step < patient_steps;
        }
        return false;
    }

    void keep_outputs(std::vector<ElementBias>& next) const {
        for (std::size_t k = 0; k < next.size(); ++k) {
            if (auto* amplifier = std::get_if<AmplifierBias>(&next[k])) {
                amplifier->output = std::get<AmplifierBias>(bias_[k]).output;
            }
        }
    }

    std::vector<double> solution(const DirectEase& ease) const {
        const DirectEquations equations = direct_equations(circuit_, bias_, ease);
        const std::vector<Complex> b(equations.b.begin(), equations.b.end());
        std::vector<double> x;
        PivotingSolver solver(equations.g);
        solver.factorise(0);
        for (const Complex& value : solver.solve(b)) x.push_back(value.real());
        return x;
    }

    static bool moves(double from_v, double to_v) {
        return !(std::abs(to_v - from_v) <= settled_v + settled_part * std::abs(to_v));
    }

    Unsettled unsettled(const std::vector<double>& x, const std::vector<ElementBias>& next) const {
        Unsettled found;
        for (std::size_t k = 0; k < next.size(); ++k) {
            const auto* junction = std::get_if<Junction>(&circuit_.elements[k].law);
            const auto* transistor = std::get_if<Transistor>(&circuit_.elements[k].law);
            bool moved = false;
            if (junction) {
                moved = moves(std::get<JunctionBias>(bias_[k]).v,
                              direct_voltage(x, junction->a) - direct_voltage(x, junction->b));
            } else if (transistor) {
                const auto& from = std::get<TransistorBias>(bias_[k]);
                const TransistorBias to = transistor_voltages(*transistor, x);
                moved = moves(from.v, to.v) || moves(from.w, to.w);
            }
            moved = moved && k != frozen_;
            if (moved || !same_piece(next[k], bias_[k])) found.elements.push_back(k);
        }
        double most_v = -1;
        for (std::size_t node = 0; node + 1 < circuit_.nodes.size(); ++node) {
            if (!moves(x_[node], x[node])) continue;
            const double moved_v = std::abs(x[node] - x_[node]);
            if (moved_v <= most_v) continue;
            most_v = moved_v;
            found.unknown = static_cast<int>(node);
        }
        return found;
    }

    /// Whether all the others settle while this element stays as it is.
    bool settles_without(std::size_t element) {
        frozen_ = element;
        bool settled = false;
        try {
            settled = settle({});
        } catch (const Singular&) {
            settled = false;
        }
        frozen_.reset();
        return settled;
    }

    /// The element that keeps the others from settling: an amplifier that jumps from rail to rail
    /// moves whatever it drives, but if it is held the others settle. If there is no such element,
    /// the first of those that did not settle.
    std::optional<std::size_t> cause() {
        const std::vector<std::size_t> suspects(suspects_.begin(), suspects_.end());
        const std::vector<ElementBias> bias = bias_;
        const std::vector<double> x = x_;
        for (std::size_t k = 0; k < std::min(most_suspects, suspects.size()); ++k) {
            bias_ = bias;
            x_ = x;
            if (settles_without(suspects[k])) return suspects[k];
        }
        if (suspects.empty()) return std::nullopt;
        return suspects.front();
    }

    [[noreturn]] void refuse(int part, std::string found, std::string advice) const {
        Diagnostic d;
        d.code = "no-operating-point";
        point_at(circuit_, part, d);
        d.found = std::move(found);
        d.advice = std::move(advice);
        throw Error(Error::Kind::no_unique_solution, {d});
    }

    [[noreturn]] void refuse_unsettled() {
        const std::string found =
            fmt::format("the DC operating point does not converge in {} steps", steps_);
        const int unknown = unsettled_.unknown;
        const std::string feedback = "look for positive feedback at DC around it";
        if (const auto element = cause()) {
            const auto& [law, part] = circuit_.elements[*element];
            refuse(part, found,
                   std::holds_alternative<RegulatorStage>(law)
                       ? "reduce its load or raise its input voltage: either its input cannot "
                         "supply the power that it delivers, or it is at the lowest input voltage "
                         "that it works from"
                       : feedback);
        }
        refuse(unknown < 0 ? -1 : owner_of(circuit_, unknown), found, feedback);
    }

    [[noreturn]] void refuse_singular(int unknown) const {
        const std::string advice =
            "put a resistance in series with a coil, diode or output that is connected straight to "
            "a voltage source, or a resistor to ground at a node without a DC path";
        if (unknown < 0) refuse(-1, "the DC voltages have no unique solution", advice);
        refuse(owner_of(circuit_, unknown),
               fmt::format("the equations at DC do not determine {}",
                           text_of_unknown(circuit_, unknown)),
               advice);
    }

    const Circuit& circuit_;
    std::vector<ElementBias> bias_;
    std::vector<double> x_;
    Unsettled unsettled_;                ///< after the last step
    std::set<std::size_t> suspects_;     ///< elements unsettled in the last steps
    std::optional<std::size_t> frozen_;  ///< an element whose bias is kept
    std::optional<int> singular_;        ///< the unknown, of the first start that had no solution
    int steps_ = 0;
};

}  // namespace

OperatingPoint operating_point(const Circuit& circuit) {
    return Newton(circuit).solve();
}

bool needs_operating_point(const Circuit& circuit) {
    return std::any_of(circuit.elements.begin(), circuit.elements.end(), [](const Element& e) {
        return std::visit(SmallSignalsDependOnBias{}, e.law);
    });
}

Circuit small_signal_circuit(Circuit built, std::optional<OperatingPoint>& point) {
    if (!needs_operating_point(built)) return built;
    if (!point) point = operating_point(built);
    std::vector<ElementBias> bias = point->bias;
    bias.resize(
        built.elements.size());  // elements at the end that the point does not know are linear
    return linearised(std::move(built), bias, point->x);
}

Circuit small_signal_circuit(const Board& assembled, double rotation, const Capsule* capsule,
                             Drive drive) {
    std::optional<OperatingPoint> point;
    return small_signal_circuit(build_circuit(assembled, rotation, capsule, drive), point);
}

}  // namespace lowhiss
