#include "lowhiss/bias/curvature.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/bias/transistor.hpp"
#include "lowhiss/circuit/index.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// The derivatives of the exponential I exp(v / V), which is `value` at rest.
struct Powers {
    double second, third;
    Powers(double value, double slope_v)
        : second(value / (slope_v * slope_v)), third(second / slope_v) {}
};

SensedVoltage between(int a, int b, double weight = 1) {
    return {{{{at_node(a), weight}, {at_node(b), -weight}}}};
}

/// A current beyond the linear one, from node a through the element to node b.
Injection current_between(int a, int b, double weight = 1) {
    return {{{{at_node(a), -weight}, {at_node(b), weight}}}};
}

Injection equation(int row) {
    return {{{{row, 1}, {-1, 0}}}};
}

struct TransistorCurvature {
    Curvature main, control;
    double transit_s = 0;
};

TransistorCurvature curvature_of(const BipolarLaw& law, double v, double w) {
    const double is = law.saturation_a;
    const Powers e(is * std::exp(v / law.thermal_v), law.thermal_v);
    const Powers c(is * std::exp(w / law.thermal_v), law.thermal_v);
    const double early = 1 - w / law.early_v;
    const double early_slope = -1 / law.early_v;
    const double c_slope = c.second * law.thermal_v;
    const double e_slope = e.second * law.thermal_v;
    TransistorCurvature bends;
    bends.transit_s = law.transit_s;
    bends.main.pp = e.second * early;
    bends.main.pq = e_slope * early_slope;
    bends.main.qq =
        -c.second * early - 2 * c_slope * early_slope - c.second / law.reverse_current_gain;
    bends.main.ppp = e.third * early;
    bends.main.ppq = e.second * early_slope;
    bends.main.qqq =
        -c.third * early - 3 * c.second * early_slope - c.third / law.reverse_current_gain;
    bends.control.pp = e.second / law.current_gain;
    bends.control.ppp = e.third / law.current_gain;
    bends.control.qq = c.second / law.reverse_current_gain;
    bends.control.qqq = c.third / law.reverse_current_gain;
    return bends;
}

TransistorCurvature curvature_of(const JfetLaw& law, double v, double w) {
    const double at_common = std::max(v + law.pinch_off_v, 0.0);
    const double at_main = std::max(w + law.pinch_off_v, 0.0);
    const double twice = 2 * law.factor_a_v2;
    const double bent_common = at_common > 0 ? twice : 0;
    const double bent_main = at_main > 0 ? twice : 0;
    const double early = 1 + std::abs(v - w) / law.early_v;
    const double early_slope = (v < w ? -1 : 1) / law.early_v;
    const Powers s(law.gate_saturation_a * std::exp(v / law.thermal_v), law.thermal_v);
    const Powers d(law.gate_saturation_a * std::exp(w / law.thermal_v), law.thermal_v);
    TransistorCurvature bends;
    bends.main.pp = bent_common * early + 2 * twice * at_common * early_slope;
    bends.main.pq = -twice * (at_common + at_main) * early_slope;
    bends.main.qq = -bent_main * early + 2 * twice * at_main * early_slope - d.second;
    bends.main.ppp = 3 * bent_common * early_slope;
    bends.main.ppq = -bent_common * early_slope;
    bends.main.pqq = -bent_main * early_slope;
    bends.main.qqq = 3 * bent_main * early_slope - d.third;
    bends.control.pp = s.second;
    bends.control.ppp = s.third;
    bends.control.qq = d.second;
    bends.control.qqq = d.third;
    return bends;
}

/// Adds the laws of one element, one overload per kind that has any.
class Bends {
  public:
    Bends(int part, const ElementBias& bias, std::vector<CurvedLaw>& laws)
        : part_(part), bias_(bias), laws_(laws) {}

    template <OneOf<Conductance, Capacitance, Branch, Coupling, MeasuredBranch, VoltageByVoltage,
                    VoltageByCurrent, CurrentByVoltage, CurrentByCurrent, CurrentSource,
                    PreampStage, RegulatorStage>
                  Law>
    void operator()(const Law&) {}

    /// With u = q/C and C (1 + a v + b v^2) about rest, v = u - a/2 u^2 + (a^2/2 - b/3) u^3.
    void operator()(const SeriesCapacitor& e) {
        Curvature c;
        c.pp = -e.bend_per_v;
        c.ppp = 3 * e.bend_per_v * e.bend_per_v - 2 * e.bend_per_v2;
        add({{{{e.charge, 1 / e.farad}, {}}}}, {}, c, equation(e.charge));
    }

    void operator()(const Amplifier& e) {
        const double most_v = e.supply.slew_v_s * e.t1_s;
        if (!(most_v > 0) || most_v == infinite) return;
        Curvature c;
        c.ppp = -2 / (most_v * most_v);
        add(between(e.plus, e.minus), {}, c, equation(e.x1));
    }

    void operator()(const Junction& e) {
        const double v = std::get<JunctionBias>(bias_).v;
        const Powers forward(e.saturation_a * std::exp(v / e.slope_v), e.slope_v);
        Curvature c;
        c.pp = forward.second;
        c.ppp = forward.third;
        if (e.breakdown_a > 0) {
            const double slope_v = e.breakdown_slope_v;
            const Powers back(e.breakdown_a * std::exp(-(v + e.breakdown_v) / slope_v), slope_v);
            c.pp -= back.second;
            c.ppp += back.third;
        }
        add(between(e.a, e.b), {}, c, equation(e.current));
    }

    void operator()(const Transistor& e) {
        const double v = std::get<TransistorBias>(bias_).v;
        const double w = std::get<TransistorBias>(bias_).w;
        const TransistorCurvature bends =
            std::visit([&](const auto& law) { return curvature_of(law, v, w); }, e.law);
        const SensedVoltage p = between(e.control, e.common, e.sign);
        const SensedVoltage q = between(e.control, e.main, e.sign);
        add(p, q, bends.main, current_between(e.main, e.common, e.sign));
        add(p, q, bends.control, current_between(e.control, e.common, e.sign));
        Curvature stored;
        stored.pp = bends.transit_s * bends.main.pp;
        stored.ppp = bends.transit_s * bends.main.ppp;
        add(p, q, stored, current_between(e.control, e.common, e.sign), true);
    }

  private:
    void add(const SensedVoltage& p, const SensedVoltage& q, const Curvature& c,
             const Injection& into, bool is_charge = false) {
        if (c.any()) laws_.push_back({part_, p, q, c, into, is_charge});
    }

    int part_;
    const ElementBias& bias_;
    std::vector<CurvedLaw>& laws_;
};

}  // namespace

bool Curvature::any() const {
    return pp != 0 || pq != 0 || qq != 0 || ppp != 0 || ppq != 0 || pqq != 0 || qqq != 0;
}

std::vector<CurvedLaw> curved_laws(const Circuit& circuit, const OperatingPoint& rest) {
    std::vector<CurvedLaw> laws;
    for (std::size_t k = 0; k < circuit.elements.size(); ++k) {
        const Element& element = circuit.elements[k];
        const bool known = k < rest.bias.size();
        const ElementBias unbiased = LinearBias{};
        std::visit(Bends(element.part, known ? rest.bias[k] : unbiased, laws), element.law);
    }
    return laws;
}

}  // namespace lowhiss
