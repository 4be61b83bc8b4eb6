#include <algorithm>
#include <cmath>

#include "lowhiss/bias/direct.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// A regulator delivers current and takes none; less than this is rounding.
constexpr double least_sunk_a = 1e-12;

/// The pieces of a law meet at a point. As near to it as this an element stays on its piece;
/// otherwise rounding could make it alternate between the two.
constexpr double rounding_v = 1e-9;

/// The next voltage of an exponential, the growth of which is bounded.
double bounded(double from, double to, double slope) {
    const double step = (to - from) / slope;
    if (!(step > 2)) return to;
    const double start = std::max(from, 0.0);
    return to > start ? std::min(to, start + slope * (1 + std::log1p((to - start) / slope))) : to;
}

/// A junction's next voltage: as far towards the solution's as the bound on the exponential's
/// growth allows.
double stepped(const Junction& e, double from_v, double to_v) {
    if (to_v > from_v) return bounded(from_v, to_v, e.slope_v);
    if (e.breakdown_a == 0 || to_v > -e.breakdown_v) return to_v;
    // The same in breakdown, for the voltage beyond the breakdown voltage.
    const double from = std::max(-from_v - e.breakdown_v, 0.0);
    return -e.breakdown_v - std::min(-to_v - e.breakdown_v,
                                     bounded(from, -to_v - e.breakdown_v, e.breakdown_slope_v));
}

/// The piece of the law of the supply current; `from` at a point where two meet.
SupplyDraw draw_at(double across_v, double least_v, SupplyDraw from) {
    const SupplyDraw to = across_v >= least_v ? SupplyDraw::all
                          : across_v > 0      ? SupplyDraw::part
                                              : SupplyDraw::none;
    const auto near = [&](double meet_v) {
        return std::abs(across_v - meet_v) <= rounding_v * least_v;
    };
    const bool pieces_meet =
        (near(least_v) && from != SupplyDraw::none && to != SupplyDraw::none) ||
        (near(0) && from != SupplyDraw::all && to != SupplyDraw::all);
    return pieces_meet ? from : to;
}

/// The next bias of one element, one overload per kind.
class BiasStep {
  public:
    BiasStep(const std::vector<double>& x, const ElementBias& from) : x_(x), from_(from) {}

    template <
        OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
              VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent, CurrentSource>
            Law>
    ElementBias operator()(const Law&) {
        return from_;
    }

    ElementBias operator()(const Junction& e) {
        return JunctionBias{stepped(e, std::get<JunctionBias>(from_).v, v(e.a) - v(e.b))};
    }

    ElementBias operator()(const Transistor& e) {
        const auto& from = std::get<TransistorBias>(from_);
        const TransistorBias to = transistor_voltages(e, x_);
        const double slope_v = std::visit([](const auto& law) { return law.thermal_v; }, e.law);
        return TransistorBias{bounded(from.v, to.v, slope_v), bounded(from.w, to.w, slope_v)};
    }

    ElementBias operator()(const Amplifier& e) {
        return amplifier(e.supply, e.current, unknown(e.x1), e.output_resistance_ohm);
    }

    ElementBias operator()(const PreampStage& e) {
        const double inner = unknown(e.integrators[0]) - unknown(e.integrators[1]);
        const double mean = (v(e.inputs[0]) + v(e.inputs[1])) / 2;
        return amplifier(e.supply, e.current,
                         v(e.reference) + e.gain_offset * (inner + e.inverse_cmrr * mean),
                         e.output_resistance_ohm);
    }

    ElementBias operator()(const RegulatorStage& e) {
        using State = RegulatorBias::State;
        const double in_v = v(e.in) - v(e.reference);
        const double out_v = v(e.out) - v(e.reference);
        const bool converter = e.figures.kind == Regulator::Kind::converter;
        const double least_v =
            converter ? e.figures.input_min_v : e.figures.output_v + e.figures.dropout_v;
        const bool passes =
            converter ? e.figures.output_v > 0 && in_v > 0 : in_v > e.figures.dropout_v;
        RegulatorBias next;
        next.own = draw_at(in_v, least_supply_v, std::get<RegulatorBias>(from_).own);
        next.state = in_v >= least_v && in_v > 0 ? State::regulating
                     : passes                    ? State::dropped_out
                                                 : State::off;
        const double target_v = next.state == State::regulating    ? e.figures.output_v
                                : next.state == State::dropped_out ? in_v - e.figures.dropout_v
                                                                   : 0;
        const double sign = e.figures.output_v < 0 ? -1 : 1;
        const double delivered_a = sign * unknown(e.current);
        const double missing_v = sign * (target_v - out_v);
        const bool was_held = std::get<RegulatorBias>(from_).state == State::held;
        if (was_held ? missing_v <= 0 : delivered_a < -least_sunk_a) next.state = State::held;
        // Power in is power out over the efficiency.
        if (next.state == State::regulating) next.draw = out_v / (e.figures.efficiency * in_v);
        return next;
    }

  private:
    double v(int node) const { return direct_voltage(x_, node); }
    double unknown(int k) const { return x_[static_cast<std::size_t>(k)]; }

    /// `inner_v` is the voltage behind the output resistance between the rails.
    ElementBias amplifier(const AmplifierSupply& e, int current, double inner_v, double ohm) {
        using Output = AmplifierBias::Output;
        if (!e.is_known()) return from_;
        const double delivered_a = unknown(current);
        const double wanted_v = inner_v - ohm * delivered_a;
        const OutputReach reach = reach_of(e, v(e.plus), v(e.minus));
        AmplifierBias next = std::get<AmplifierBias>(from_);
        next.output = reach.high_v < reach.low_v ? Output::starved
                      : wanted_v > reach.high_v  ? Output::at_upper_rail
                      : wanted_v < reach.low_v   ? Output::at_lower_rail
                                                 : Output::between_rails;
        if (std::abs(delivered_a) > least_sunk_a) {
            next.carries_output =
                delivered_a > 0 ? AmplifierBias::Rail::plus : AmplifierBias::Rail::minus;
        }
        next.draw = draw_at(v(e.plus) - v(e.minus), least_working_v(e), next.draw);
        return next;
    }

    const std::vector<double>& x_;
    const ElementBias& from_;
};

/// Whether two biases of one kind of element are on the same piece, one overload per kind of bias.
struct SamePiece {
    const ElementBias& other;

    template <OneOf<LinearBias, JunctionBias, TransistorBias> Law>
    bool operator()(const Law&) const {
        return true;
    }
    bool operator()(const AmplifierBias& a) const {
        const auto& b = std::get<AmplifierBias>(other);
        return a.output == b.output && a.carries_output == b.carries_output && a.draw == b.draw;
    }
    bool operator()(const RegulatorBias& a) const {
        const auto& b = std::get<RegulatorBias>(other);
        return a.state == b.state && a.own == b.own;
    }
};

}  // namespace

bool same_piece(const ElementBias& a, const ElementBias& b) {
    return std::visit(SamePiece{b}, a);
}

std::vector<ElementBias> next_bias(const Circuit& circuit, const std::vector<ElementBias>& bias,
                                   const std::vector<double>& x) {
    std::vector<ElementBias> next;
    next.reserve(bias.size());
    for (std::size_t k = 0; k < bias.size(); ++k) {
        next.push_back(std::visit(BiasStep(x, bias[k]), circuit.elements[k].law));
    }
    return next;
}

}  // namespace lowhiss
