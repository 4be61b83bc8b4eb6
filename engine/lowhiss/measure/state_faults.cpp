#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/supply.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

constexpr double least_reverse_v = 0.05;
constexpr double least_charge_a = 1e-9;

std::string volts(double v) {
    return print_quantity(v, Unit::volt, 4);
}
std::string amperes(double a) {
    return print_quantity(a, Unit::ampere, 4);
}

using Faults = std::vector<SupplyFault>;
using Kind = SupplyFault::Kind;

void add_amplifier_faults(const AmplifierState& a, Faults& faults) {
    const auto fault = [&](Kind kind, double excess, std::string text) {
        faults.push_back({a.part, kind, std::move(text), excess});
    };
    const double above_v = a.output_v + a.output_offset_v - a.high_v;
    const double below_v = a.low_v - (a.output_v - a.output_offset_v);
    if (a.supply_v < a.min_v) {
        fault(Kind::too_little, a.min_v - a.supply_v,
              fmt::format("supply too low: {}, needs at least {}", volts(a.supply_v),
                          volts(a.min_v)));
    } else if (a.supply_v > a.max_v) {
        fault(Kind::too_much, a.supply_v - a.max_v,
              fmt::format("supply too high: {}, at most {}", volts(a.supply_v), volts(a.max_v)));
    } else if (!a.in_reach) {
        fault(Kind::stuck, 0,
              fmt::format("output stuck at {}, the limit of its swing", volts(a.output_v)));
    } else if (above_v > 0 || below_v > 0) {
        fault(Kind::offset, std::max(above_v, below_v),
              fmt::format("offset may drive the output beyond its swing: {} ± {}",
                          volts(a.output_v), volts(a.output_offset_v)));
    }
}

void add_transistor_faults(const TransistorState& t, Faults& faults) {
    using Region = TransistorRegion;
    const std::string across = fmt::format(
        "{} voltage {}", t.jfet ? "drain-source" : "collector-emitter", volts(t.across_v));
    const auto fault = [&](double excess, std::string text) {
        faults.push_back({t.part, Kind::not_active, std::move(text), excess});
    };
    switch (t.region) {
        case Region::active:
            return;
        case Region::saturated:
            return fault(
                0, fmt::format("{}: {}", t.jfet ? "in its triode region" : "saturated", across));
        case Region::cut_off:
            return fault(
                0, fmt::format("cut off: {} voltage {}", t.jfet ? "gate-source" : "base-emitter",
                               volts(t.control_v)));
        case Region::gate_conducts:
            return fault(std::abs(t.control_v),
                         fmt::format("its gate conducts: gate-source voltage {}, {}",
                                     volts(t.control_v), across));
        case Region::reversed:
            return fault(std::abs(t.across_v),
                         fmt::format("reversed: {}; check its pins and its polarity, {}", across,
                                     t.jfet ? (t.mirrored ? "p-channel" : "n-channel")
                                            : (t.mirrored ? "pnp" : "npn")));
    }
}

void add_source_faults(const SourceState& s, Faults& faults) {
    const auto fault = [&](Kind kind, double excess, std::string text) {
        faults.push_back({s.part, kind, std::move(text), excess});
    };
    if (s.amperes > s.limit_a) {
        fault(
            Kind::overdrawn, s.amperes - s.limit_a,
            fmt::format("overloaded: {} drawn, limit {}", amperes(s.amperes), amperes(s.limit_a)));
    }
    if (!s.regulates) {
        fault(Kind::starved, 0, fmt::format("drops out: output {}", volts(s.volts)));
    }
    if (s.held) {
        fault(Kind::held, 0, fmt::format("output forced to {} by another source", volts(s.volts)));
    }
    if (s.kind == SourceState::Kind::battery && s.amperes < -least_charge_a) {
        fault(Kind::charged, -s.amperes, fmt::format("being charged at {}", amperes(-s.amperes)));
    }
}

void add_capacitor_faults(const CapacitorState& c, Faults& faults) {
    if (std::abs(c.volts) > c.rating_v) {
        faults.push_back(
            {c.part, Kind::over_rating,
             fmt::format("overvoltage: {}, rated {}", volts(std::abs(c.volts)), volts(c.rating_v)),
             std::abs(c.volts) - c.rating_v});
    }
    if (c.polarised && c.volts < -least_reverse_v) {
        faults.push_back({c.part, Kind::reversed,
                          fmt::format("polarised and reverse biased by {}", volts(-c.volts)),
                          -c.volts});
    }
}

}  // namespace

std::string_view region_text(const TransistorState& state) {
    switch (state.region) {
        case TransistorRegion::active:
            return state.jfet ? "saturation" : "active";
        case TransistorRegion::saturated:
            return state.jfet ? "triode" : "saturated";
        case TransistorRegion::cut_off:
            return "cut off";
        case TransistorRegion::gate_conducts:
            return "gate conducts";
        case TransistorRegion::reversed:
            return "reversed";
    }
    return "";
}

std::vector<SupplyFault> faults_of(const SupplyState& state) {
    std::vector<SupplyFault> faults;
    for (const AmplifierState& a : state.amplifiers) add_amplifier_faults(a, faults);
    for (const TransistorState& t : state.transistors) add_transistor_faults(t, faults);
    for (const SourceState& s : state.sources) add_source_faults(s, faults);
    for (const CapacitorState& c : state.capacitors) add_capacitor_faults(c, faults);
    return faults;
}

}  // namespace lowhiss
