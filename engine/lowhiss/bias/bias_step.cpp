#include <algorithm>
#include <cmath>

#include "lowhiss/bias/direct.hpp"

namespace lowhiss {
namespace {

/// A regulator delivers current and takes none; less than this is rounding.
constexpr double least_sunk_a = 1e-12;

/// A junction's next voltage: towards the solution's, the exponential's growth bounded.
double stepped(const Junction& e, double from_v, double to_v) {
    const auto bounded = [](double from, double to, double slope) {
        const double step = (to - from) / slope;
        if (!(step > 2)) return to;
        const double start = std::max(from, 0.0);
        return start + slope * (1 + std::log1p((to - start) / slope));
    };
    if (to_v > from_v) return std::min(to_v, bounded(from_v, to_v, e.slope_v));
    if (e.breakdown_a == 0 || to_v > -e.breakdown_v) return to_v;
    // In breakdown the same, seen from the breakdown voltage on.
    const double from = std::max(-from_v - e.breakdown_v, 0.0);
    return -e.breakdown_v - std::min(-to_v - e.breakdown_v,
                                     bounded(from, -to_v - e.breakdown_v, e.breakdown_slope_v));
}

class BiasStep {
  public:
    BiasStep(const std::vector<double>& x, const ElementBias& from)
        : x_(x), came_from_(from), next_(from) {}

    template <class Law>
    ElementBias operator()(const Law&) {
        return next_;
    }

    ElementBias operator()(const Junction& e) {
        next_.junction_v = stepped(e, next_.junction_v, v(e.a) - v(e.b));
        return next_;
    }

    ElementBias operator()(const Amplifier& e) {
        return amplifier(e.supply, e.current, x_[static_cast<std::size_t>(e.x1)],
                         e.output_resistance_ohm);
    }

    ElementBias operator()(const PreampStage& e) {
        const double inner = x_[static_cast<std::size_t>(e.integrators[0])] -
                             x_[static_cast<std::size_t>(e.integrators[1])];
        const double mean = (v(e.inputs[0]) + v(e.inputs[1])) / 2;
        return amplifier(e.supply, e.current,
                         v(e.reference) + e.gain_offset * (inner + e.inverse_cmrr * mean),
                         e.output_resistance_ohm);
    }

    ElementBias operator()(const RegulatorStage& e) {
        const double in_v = v(e.in) - v(e.reference);
        const bool converter = e.figures.kind == Regulator::Kind::converter;
        const double least_v =
            converter ? e.figures.input_min_v : e.figures.output_v + e.figures.dropout_v;
        const bool passes =
            converter ? e.figures.output_v > 0 && in_v > 0 : in_v > e.figures.dropout_v;
        next_.piece = in_v >= least_v && in_v > 0 ? 0 : passes ? 1 : 2;
        const double sign = e.figures.output_v < 0 ? -1 : 1;
        const double delivered_a = sign * x_[static_cast<std::size_t>(e.current)];
        const double missing_v = e.figures.output_v - (v(e.out) - v(e.reference));
        const bool was_held = came_from_.piece == 3;
        if (was_held ? sign * missing_v <= 0 : delivered_a < -least_sunk_a) next_.piece = 3;
        // Power in is power out over the efficiency.
        const double out_v = v(e.out) - v(e.reference);
        next_.supply_v = next_.piece == 0 ? out_v / (e.figures.efficiency * in_v) : 1;
        return next_;
    }

  private:
    double v(int node) const { return direct_voltage(x_, node); }

    /// `inner_v` is what the output would follow, its resistance aside.
    ElementBias amplifier(const AmplifierSupply& e, int current, double inner_v, double ohm) {
        if (!e.is_known()) return next_;
        next_.supply_v = v(e.plus) - v(e.minus);
        const double delivered_a = x_[static_cast<std::size_t>(current)];
        const double wanted_v = inner_v - ohm * delivered_a;
        next_.sources = delivered_a >= 0;
        const OutputReach reach = reach_of(e, v(e.plus), v(e.minus));
        next_.piece = reach.high_v < reach.low_v ? 2
                      : wanted_v > reach.high_v  ? 1
                      : wanted_v < reach.low_v   ? -1
                                                 : 0;
        return next_;
    }

    const std::vector<double>& x_;
    const ElementBias& came_from_;
    ElementBias next_;
};

}  // namespace

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
