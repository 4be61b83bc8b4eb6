#include "lowhiss/measure/battery_life.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>

#include "lowhiss/measure/supply.hpp"
#include "lowhiss/measure/supply_faults.hpp"

namespace lowhiss {
namespace {

using End = BatteryLife::End;

/// The board with a part of the charge spent.
struct Discharge {
    double per_hour = 0;  ///< of the charge, of the battery that is drained fastest
    std::string battery;
    bool works = true;
    End end = End::empty;
    std::string stopped;  ///< the part that no longer works
};

class Discharger {
  public:
    Discharger(const Board& board, double rotation, const Capsule* capsule)
        : board_(board), rotation_(rotation), capsule_(capsule) {}

    const Discharge& at(double spent) {
        const auto known = known_.find(spent);
        return known != known_.end() ? known->second
                                     : known_.emplace(spent, find(spent)).first->second;
    }

  private:
    /// There is no operating point if a converter neither runs nor stays off, because its own
    /// current pulls its input below the voltage at which it stops.
    Discharge find(double spent) const {
        try {
            return read(supply_state(with_spent_batteries(board_, spent), rotation_, capsule_));
        } catch (const Error& error) {
            const std::string& name = error.diagnostics().front().subject;
            const Part* part = find_part(board_, name);
            if (!part || !std::holds_alternative<Regulator>(part->data)) throw;
            return {0, "", false, End::regulator_out, name};
        }
    }

    Discharge read(const SupplyState& state) const {
        Discharge result;
        for (const SourceState& s : state.sources) {
            const double per_hour = s.amperes / s.capacity_ah;  // unset for what is no battery
            if (!(per_hour > result.per_hour)) continue;
            result.per_hour = per_hour;
            result.battery = s.part;
        }
        for (const AmplifierState& a : state.amplifiers) {
            if (a.supply_v < a.min_v) stop(a.part, FaultKind::too_little, result);
            if (a.low_v >= a.high_v) stop(a.part, FaultKind::stuck, result);
        }
        for (const SourceState& s : state.sources) {
            if (!s.regulates) stop(s.part, FaultKind::starved, result);
        }
        return result;
    }

    /// A regulator that drops out is the cause, and an amplifier behind it the effect.
    void stop(const std::string& part, FaultKind fault, Discharge& result) const {
        if (!reason_accepted(board_, part, fault).empty()) return;
        const bool regulator = fault == FaultKind::starved;
        if (!result.works && !(regulator && result.end == End::amplifier_starved)) return;
        result.works = false;
        result.end = regulator ? End::regulator_out : End::amplifier_starved;
        result.stopped = part;
    }

    const Board& board_;
    double rotation_;
    const Capsule* capsule_;
    std::map<double, Discharge> known_;
};

/// Hours between two states of charge on one side of the half, by Boole's rule (Abramowitz and
/// Stegun, "Handbook of Mathematical Functions", 25.4.14).
double hours_between(Discharger& board, double from, double to) {
    constexpr std::array weights{7.0, 32.0, 12.0, 32.0, 7.0};
    constexpr double sum_of_weights = 90;
    double sum = 0;
    for (std::size_t k = 0; k < weights.size(); ++k) {
        const double along = static_cast<double>(k) / 4;
        sum += weights[k] / board.at(std::lerp(from, to, along)).per_hour;
    }
    return (to - from) * sum / sum_of_weights;
}

double hours_until(Discharger& board, double spent) {
    constexpr double half = 0.5;
    const double first = hours_between(board, 0, std::min(spent, half));
    return spent > half ? first + hours_between(board, half, spent) : first;
}

}  // namespace

BatteryLife battery_life(const Board& assembled, double rotation, const Capsule* capsule) {
    constexpr std::array steps{0.25, 0.5, 0.75, 1.0};
    constexpr int halvings = 18;
    Discharger board(assembled, rotation, capsule);
    Discharge here = board.at(0);
    if (here.battery.empty()) return {};
    if (!here.works) return {0, here.end, here.stopped, 0};
    double works = 0;
    for (const double step : steps) {
        const Discharge next = board.at(step);
        if (next.works) {
            works = step;
            here = next;
            continue;
        }
        double stopped = step;
        Discharge last = next;
        for (int k = 0; k < halvings; ++k) {
            const double middle = std::midpoint(works, stopped);
            const Discharge between = board.at(middle);
            (between.works ? works : stopped) = middle;
            if (!between.works) last = between;
        }
        const double hours = hours_until(board, works);
        return {std::isfinite(hours) ? hours : unset, last.end, last.stopped, works};
    }
    const double hours = hours_until(board, 1);
    return {std::isfinite(hours) ? hours : unset, End::empty, here.battery, 1};
}

std::string end_text(const BatteryLife& life) {
    const auto spent = [&] {
        return fmt::format(", with {:.0f} % of the charge spent", 100 * life.spent);
    };
    switch (life.end) {
        case End::empty:
            return fmt::format("until {} is empty", life.part);
        case End::amplifier_starved:
            return fmt::format("until the supply of {} is too low", life.part) + spent();
        case End::regulator_out:
            return fmt::format("until {} drops out", life.part) + spent();
    }
    return "";
}

}  // namespace lowhiss
