#include "lowhiss/measure/supply.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/bias/transistor.hpp"
#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/measure/output_node.hpp"
#include "lowhiss/solver/pivoting.hpp"

namespace lowhiss {
namespace {

// Smaller figures than these are rounding, or harmless.
constexpr double least_output_v = 1e-9;
constexpr double least_wiper_a = 1e-12;

/// Reads the state of the board's parts from one circuit's operating point.
class StateReader {
  public:
    StateReader(const Board& board, const Circuit& circuit, const OperatingPoint& point)
        : board_(board),
          circuit_(circuit),
          point_(point),
          equations_(direct_equations(circuit, point_.bias)),
          solver_(equations_.g) {
        solver_.factorise(0);
    }

    SupplyState read() {
        for (std::size_t k = 0; k < circuit_.elements.size(); ++k) {
            if (const AmplifierSupply* supply = supply_of(circuit_.elements[k])) {
                if (supply->is_known()) read_amplifier(k, *supply);
            }
        }
        read_transistors();
        for (const SupplySource& source : circuit_.supplies) read_source(source);
        for (const CapacitorPort& port : circuit_.capacitors) read_capacitor(port);
        read_wipers();
        const int plus = circuit_.output_plus;
        const int minus = circuit_.output_minus;
        state_.output_v = point_.node_v(plus) - point_.node_v(minus);
        state_.output_offset_v = offset_between(plus, minus);
        return std::move(state_);
    }

  private:
    const std::string& name_of(int part) const {
        return circuit_.parts[static_cast<std::size_t>(part)].name;
    }
    double unknown(int k) const { return point_.x[static_cast<std::size_t>(k)]; }

    static int offset_equation(const ElementLaw& law) {
        if (const auto* opamp = std::get_if<Amplifier>(&law)) return opamp->x1;
        return std::get<PreampStage>(law).buffer_currents[0];
    }

    /// Sum of |y^T b| over all offsets b, y the adjoint of the voltage between two nodes.
    double offset_between(int plus, int minus) {
        std::vector<Complex> select(point_.x.size());
        if (plus > 0) select[static_cast<std::size_t>(plus) - 1] += 1;
        if (minus > 0) select[static_cast<std::size_t>(minus) - 1] -= 1;
        const std::vector<Complex> y = solver_.solve_transposed(select);
        double sum_v = 0;
        for (const Element& element : circuit_.elements) {
            const AmplifierSupply* supply = supply_of(element);
            if (!supply) continue;
            const auto equation = static_cast<std::size_t>(offset_equation(element.law));
            sum_v += std::abs(y[equation].real() * supply->offset_v);
        }
        return sum_v;
    }

    void read_amplifier(std::size_t element, const AmplifierSupply& supply) {
        const int out = output_node(circuit_.elements[element].law);
        AmplifierState state;
        state.part = name_of(circuit_.elements[element].part);
        state.supply_v = point_.node_v(supply.plus) - point_.node_v(supply.minus);
        state.min_v = supply.min_v;
        state.max_v = supply.max_v;
        state.output_v = point_.node_v(out);
        state.output_offset_v = offset_between(out, 0);
        const OutputReach reach =
            reach_of(supply, point_.node_v(supply.plus), point_.node_v(supply.minus));
        state.low_v = reach.low_v;
        state.high_v = reach.high_v;
        state.in_reach = std::get<AmplifierBias>(point_.bias[element]).output ==
                         AmplifierBias::Output::between_rails;
        state_.amplifiers.push_back(std::move(state));
    }

    double pin_v(const Pin& pin) const {
        const auto node = std::find(circuit_.nodes.begin(), circuit_.nodes.end(), pin.node);
        return point_.node_v(static_cast<int>(node - circuit_.nodes.begin()));
    }

    void read_transistors() {
        for (std::size_t k = 0; k < circuit_.elements.size(); ++k) {
            const auto* e = std::get_if<Transistor>(&circuit_.elements[k].law);
            if (!e) continue;
            const auto& [v, w] = std::get<TransistorBias>(point_.bias[k]);
            const TransistorCurrents i = currents_of(*e, v, w);
            TransistorState state;
            state.part = name_of(circuit_.elements[k].part);
            state.jfet = std::holds_alternative<JfetLaw>(e->law);
            state.mirrored = e->sign < 0;
            state.region = region_of(*e, v, w);
            state.amperes = e->sign * (i.main_a + e->leak_a);
            const Part& part = *find_part(board_, state.part);
            const double common_v = pin_v(part.pins[2]);
            state.control_v = pin_v(part.pins[1]) - common_v;
            state.across_v = pin_v(part.pins[0]) - common_v;
            state.dissipation_w = state.across_v * state.amperes +
                                  state.control_v * e->sign * (i.control_a - e->leak_a);
            state_.transistors.push_back(std::move(state));
        }
    }

    void read_source(const SupplySource& source) {
        SourceState state;
        state.part = name_of(source.part);
        state.amperes = -unknown(source.equation);
        if (state.part == feed_part && board_.feed) {
            const Feed& feed = *board_.feed;
            state.kind = SourceState::Kind::feed;
            state.volts = (pin_v(feed.plus) + pin_v(feed.minus)) / 2 - pin_v(feed.ret);
            state.limit_a = feed.current_limit_a;
        } else {
            read_part_source(source, state);
        }
        state_.sources.push_back(std::move(state));
    }

    void read_part_source(const SupplySource& source, SourceState& state) {
        for (std::size_t k = 0; k < circuit_.elements.size(); ++k) {
            const Element& element = circuit_.elements[k];
            if (element.part != source.part) continue;
            if (const auto* branch = std::get_if<Branch>(&element.law)) {
                state.volts = point_.node_v(branch->a) - point_.node_v(branch->b);
                // A source of a negative voltage delivers at its second pin.
                if (branch->dc_v < 0) state.amperes = unknown(source.equation);
            } else if (const auto* stage = std::get_if<RegulatorStage>(&element.law)) {
                state.kind = SourceState::Kind::regulator;
                state.volts = point_.node_v(stage->out) - point_.node_v(stage->reference);
                state.amperes = std::abs(unknown(stage->current));
                using State = RegulatorBias::State;
                const State regulator = std::get<RegulatorBias>(point_.bias[k]).state;
                state.regulates = regulator == State::regulating || regulator == State::held;
                state.held = regulator == State::held;
            }
        }
        const Part* part = find_part(board_, state.part);
        const auto* battery = part ? std::get_if<Battery>(&part->data) : nullptr;
        if (!battery) return;
        state.kind = SourceState::Kind::battery;
        state.capacity_ah = board_.models.batteries.at(battery->model).capacity_ah;
    }

    /// No direct current flows through its series resistance.
    double direct_across(const CapacitorPort& port) const {
        for (const Element& element : circuit_.elements) {
            const auto* law = std::get_if<SeriesCapacitor>(&element.law);
            if (law && law->charge == port.charge) {
                return point_.node_v(law->a) - point_.node_v(law->b);
            }
        }
        return unset;
    }

    void read_capacitor(const CapacitorPort& port) {
        const Part* part = find_part(board_, name_of(port.part));
        const auto* capacitor = part ? std::get_if<Capacitor>(&part->data) : nullptr;
        if (!capacitor) return;
        const double v = direct_across(port);
        state_.capacitors.push_back(
            {part->name, v, capacitor->rating_v, capacitor->polarised,
             capacitor->capacitance_f * (1 - lost_capacitance(capacitor->bias_loss, v).fraction),
             !capacitor->bias_loss.empty()});
    }

    /// The current of a wiper is the difference of those in the two parts of its track.
    void read_wipers() {
        for (const Part& part : board_.parts) {
            if (!part.fitted || !std::holds_alternative<Potentiometer>(part.data)) continue;
            double amperes = 0;
            for (const Element& element : circuit_.elements) {
                const auto* branch = std::get_if<Branch>(&element.law);
                if (!branch || name_of(element.part) != part.name) continue;
                const bool from_wiper =
                    circuit_.nodes[static_cast<std::size_t>(branch->a)] == part.pins[1].node;
                amperes += from_wiper ? unknown(branch->current) : -unknown(branch->current);
            }
            state_.wipers.push_back({part.name, std::abs(amperes)});
        }
    }

    const Board& board_;
    const Circuit& circuit_;
    const OperatingPoint& point_;
    DirectEquations equations_;
    PivotingSolver solver_;
    SupplyState state_;
};

template <class List, class Figure>
double smallest(const List& list, Figure figure) {
    double least = unset;
    for (const auto& item : list) {
        const double value = figure(item);
        if (std::isfinite(value) && !(value >= least)) least = value;
    }
    return least;
}

}  // namespace

std::string_view text_of(SupplyEnd end) {
    return end == SupplyEnd::low ? "low" : end == SupplyEnd::high ? "high" : "nominal";
}

Board at_supply(const Board& assembled, SupplyEnd end) {
    Board board = assembled;
    if (board.feed && end != SupplyEnd::nominal) {
        const double off_v = board.feed->voltage_tolerance_v;
        board.feed->voltage_v += end == SupplyEnd::low ? -off_v : off_v;
    }
    constexpr double half = 0.5;
    return with_spent_batteries(std::move(board), end == SupplyEnd::low    ? 1
                                                  : end == SupplyEnd::high ? 0
                                                                           : half);
}

Board with_spent_batteries(Board assembled, double spent) {
    for (Part& part : assembled.parts) {
        if (auto* battery = std::get_if<Battery>(&part.data)) battery->spent = spent;
    }
    return assembled;
}

const Board& SupplyEndBoards::at(SupplyEnd end) {
    const auto known = made_.find(end);
    return known != made_.end() ? known->second
                                : made_.emplace(end, at_supply(*assembled_, end)).first->second;
}

bool has_supply_ends(const Board& assembled) {
    return assembled.feed ||
           std::any_of(assembled.parts.begin(), assembled.parts.end(), [](const Part& part) {
               return part.fitted && std::holds_alternative<Battery>(part.data);
           });
}

SupplyState supply_state(const Board& assembled, const Circuit& circuit,
                         const OperatingPoint& point) {
    return StateReader(assembled, circuit, point).read();
}

SupplyState supply_state(const Board& assembled, double rotation, const Capsule* capsule) {
    const Circuit circuit = build_circuit(assembled, rotation, capsule);
    return supply_state(assembled, circuit, operating_point(circuit));
}

double supply_margin_v(const SupplyState& state) {
    return smallest(state.amplifiers, [](const AmplifierState& a) {
        return std::min(a.supply_v - a.min_v, a.max_v - a.supply_v);
    });
}

double supply_current_a(const SupplyState& state) {
    double fed_a = unset;
    double other_a = unset;
    for (const SourceState& s : state.sources) {
        if (s.kind == SourceState::Kind::regulator) continue;
        double& sum = s.kind == SourceState::Kind::source ? other_a : fed_a;
        const double delivered_a = std::max(s.amperes, 0.0);
        sum = std::isnan(sum) ? delivered_a : sum + delivered_a;
    }
    return std::isnan(fed_a) ? other_a : fed_a;
}

double feed_margin_a(const SupplyState& state) {
    return smallest(state.sources, [](const SourceState& s) {
        return s.kind == SourceState::Kind::feed ? s.limit_a - s.amperes : unset;
    });
}

double output_offset_v(const SupplyState& state) {
    const double offset_v = std::abs(state.output_v) + state.output_offset_v;
    return offset_v < least_output_v ? 0 : offset_v;
}

double wiper_current_a(const SupplyState& state) {
    const double most_a = -smallest(state.wipers, [](const WiperState& w) { return -w.amperes; });
    return most_a < least_wiper_a ? 0 : most_a;
}

double capacitor_stress(const SupplyState& state) {
    return -smallest(state.capacitors, [](const CapacitorState& c) {
        return c.rating_v < infinite ? -std::abs(c.volts) / c.rating_v : unset;
    });
}

}  // namespace lowhiss
