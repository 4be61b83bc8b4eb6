#include "lowhiss/measure/setting.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/corner.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

/// The noise of an electret's buffer stays when its resistance is removed; the noise of the other
/// capsules is that of their impedance.
std::optional<Capsule> without_impedance(const Capsule* capsule) {
    if (!capsule || !std::holds_alternative<ElectretCapsule>(capsule->impedance)) return {};
    Capsule ideal = *capsule;
    std::get<ElectretCapsule>(ideal.impedance).output_resistance_ohm = 0;
    return ideal;
}

Drive drive_of(CircuitKind kind) {
    switch (kind) {
        case CircuitKind::real:
        case CircuitKind::ideal:
        case CircuitKind::mismatched_feed:
        case CircuitKind::mismatched_feed_swapped:
            return Drive::differential;
        case CircuitKind::common:
            return Drive::common;
        case CircuitKind::common_swapped:
            return Drive::common_swapped;
        case CircuitKind::radio:
            return Drive::radio;
        case CircuitKind::radio_common:
            return Drive::radio_common;
        case CircuitKind::radio_common_swapped:
            return Drive::radio_common_swapped;
    }
    return Drive::differential;
}

Circuit build(const Board& board, const Capsule* capsule, double rotation, CircuitKind kind) {
    if (kind == CircuitKind::ideal) {
        const std::optional<Capsule> ideal = without_impedance(capsule);
        return build_circuit(board, rotation, ideal ? &*ideal : nullptr);
    }
    const bool swapped = kind == CircuitKind::mismatched_feed_swapped;
    if (swapped || kind == CircuitKind::mismatched_feed) {
        Board mismatched = board;
        mismatched.feed->mismatch = swapped ? -board.feed->matching : board.feed->matching;
        return build_circuit(mismatched, rotation, capsule);
    }
    return build_circuit(board, rotation, capsule, drive_of(kind));
}

const Response& remembered(std::map<double, Response>& responses, Network& network,
                           double frequency_hz) {
    const auto known = responses.find(frequency_hz);
    if (known != responses.end()) return known->second;
    return responses.emplace(frequency_hz, network.respond(frequency_hz)).first->second;
}

void remember(std::map<double, Response>& responses, Network& network,
              std::span<const double> frequency_hz) {
    std::vector<double> wanted;
    for (const double f_hz : frequency_hz) {
        if (!responses.contains(f_hz)) wanted.push_back(f_hz);
    }
    for (Response& response : network.respond_all(wanted)) {
        const double f_hz = response.frequency_hz;
        responses.emplace(f_hz, std::move(response));
    }
}

}  // namespace

Circuit small_signal_circuit(const Board& assembled, const Capsule* capsule, double rotation,
                             CircuitKind kind) {
    std::optional<OperatingPoint> point;
    return small_signal_circuit(build(assembled, capsule, rotation, kind), point);
}

Setting::Setting(const Board& assembled, const Capsule* capsule, double rotation, Plans plans,
                 SupplyEndBoards* ends)
    : board_(&assembled),
      own_ends_(assembled),
      ends_(ends ? ends : &own_ends_),
      capsule_(capsule),
      rotation_(assembled.knob ? rotation : unset),
      plans_(std::move(plans)) {
    circuit();
}

double Setting::angle() const {
    return std::isnan(rotation_) ? 0 : rotation_;
}

std::shared_ptr<const Plan> Setting::plan_of(CircuitKind kind) const {
    switch (kind) {
        case CircuitKind::real:
            return plans_.real;
        case CircuitKind::ideal:
            return plans_.ideal;
        case CircuitKind::common:
        case CircuitKind::common_swapped:
            return plans_.common;
        case CircuitKind::radio:
        case CircuitKind::radio_common:
        case CircuitKind::radio_common_swapped:
        case CircuitKind::mismatched_feed:
        case CircuitKind::mismatched_feed_swapped:
            return nullptr;
    }
    return nullptr;
}

Circuit Setting::small_signal(Circuit built, std::optional<OperatingPoint>& point) {
    const bool known = point.has_value();
    Circuit circuit = small_signal_circuit(std::move(built), point);
    if (point.has_value() && !known) ++operating_points_found_;
    return circuit;
}

const Circuit& Setting::circuit(CircuitKind kind) {
    if (kind == CircuitKind::ideal && !capsule_) kind = CircuitKind::real;
    Side& side = sides_[kind];
    if (side.network) return side.network->circuit();
    if (!side.circuit) {
        side.circuit = std::make_unique<const Circuit>(
            small_signal(build(*board_, capsule_, angle(), kind), side.point));
    }
    return *side.circuit;
}

Network& Setting::network(CircuitKind kind) {
    if (kind == CircuitKind::ideal && !capsule_) kind = CircuitKind::real;
    circuit(kind);
    Side& side = sides_[kind];
    if (!side.network) side.network.emplace(std::move(side.circuit), plan_of(kind));
    return *side.network;
}

void Setting::prepare(std::span<const double> frequency_hz) {
    remember(responses_, network(), frequency_hz);
}

void Setting::prepare_ideal(std::span<const double> frequency_hz) {
    remember(ideal_responses_, network(CircuitKind::ideal), frequency_hz);
}

const Response& Setting::at(double frequency_hz) {
    return remembered(responses_, network(), frequency_hz);
}

const Response& Setting::ideal_at(double frequency_hz) {
    return remembered(ideal_responses_, network(CircuitKind::ideal), frequency_hz);
}

const OutputNoise& Setting::noise(const Band& band) {
    const std::pair key{band.from_hz, band.to_hz};
    const auto known = noise_.find(key);
    if (known != noise_.end()) return known->second;
    return noise_.emplace(key, integrate_noise(network(), band)).first->second;
}

const std::vector<double>& Setting::noise_uncertainty(const Band& band) {
    const std::pair key{band.from_hz, band.to_hz};
    const auto known = noise_uncertainty_.find(key);
    if (known != noise_uncertainty_.end()) return known->second;
    return noise_uncertainty_.emplace(key, lowhiss::noise_uncertainty(network(), band))
        .first->second;
}

double Setting::ideal_noise_v2(const Band& band) {
    if (!has_capsule()) return noise(band).power_v2;
    const std::pair key{band.from_hz, band.to_hz};
    const auto known = ideal_noise_v2_.find(key);
    if (known != ideal_noise_v2_.end()) return known->second;
    const double power_v2 = integrate_noise(network(CircuitKind::ideal), band).power_v2;
    return ideal_noise_v2_.emplace(key, power_v2).first->second;
}

const std::vector<PartRolloff>& Setting::rolloff() {
    if (rolloff_) return *rolloff_;
    rolloff_.emplace();
    for (const Rolloff& rolloff : bass_rolloff(network(), capsule_)) {
        const auto part = static_cast<std::size_t>(rolloff.part);
        rolloff_->push_back({circuit().parts[part].name, rolloff});
    }
    return *rolloff_;
}

PartBassLoss Setting::bass_loss(double frequency_hz) {
    if (!std::isfinite(frequency_hz)) return {};
    std::vector<Rolloff> causes;
    for (const PartRolloff& part : rolloff()) causes.push_back(part.rolloff);
    const BassLoss loss = lowhiss::bass_loss(network(), capsule_, causes, frequency_hz);
    PartBassLoss named{loss.frequency_hz, loss.total_db, {}, loss.together_db, loss.most_alone_db};
    for (const Rolloff& cause : loss.causes) {
        const auto part = static_cast<std::size_t>(cause.part);
        named.causes.push_back({circuit().parts[part].name, cause});
    }
    return named;
}

const std::vector<double>& Setting::resonances_hz() {
    if (!resonances_hz_) resonances_hz_ = sharp_frequencies_hz(network());
    return *resonances_hz_;
}

const std::vector<double>& Setting::flanks_hz() {
    if (!flanks_hz_) flanks_hz_ = flank_frequencies_hz(network());
    return *flanks_hz_;
}

double Setting::low_corner_hz() {
    if (!low_corner_hz_) low_corner_hz_ = corner_hz(network(), at(reference_hz), Corner::low);
    return *low_corner_hz_;
}

double Setting::high_corner_hz() {
    if (!high_corner_hz_) high_corner_hz_ = corner_hz(network(), at(reference_hz), Corner::high);
    return *high_corner_hz_;
}

const OperatingPoint& Setting::operating() {
    std::optional<OperatingPoint>& point = sides_[CircuitKind::real].point;
    if (!point) {
        point = operating_point(circuit());
        ++operating_points_found_;
    }
    return *point;
}

const SupplyState& Setting::supply(SupplyEnd end) {
    if (!has_supply_ends(*board_)) end = SupplyEnd::nominal;
    const auto known = supply_.find(end);
    if (known != supply_.end()) return known->second;
    if (end == SupplyEnd::nominal) {
        return supply_.emplace(end, supply_state(*board_, circuit(), operating())).first->second;
    }
    const Board& at_end = ends_->at(end);
    const Circuit built = build_circuit(at_end, angle(), capsule_);
    ++operating_points_found_;
    return supply_.emplace(end, supply_state(at_end, built, operating_point(built))).first->second;
}

const Harmonics& Setting::harmonics(double frequency_hz) {
    const auto known = harmonics_.find(frequency_hz);
    if (known != harmonics_.end()) return known->second;
    if (!curved_laws_) {
        const bool biased = needs_operating_point(circuit());
        curved_laws_ = curved_laws(circuit(), biased ? operating() : OperatingPoint{});
    }
    return harmonics_.emplace(frequency_hz, harmonics_of(network(), *curved_laws_, frequency_hz))
        .first->second;
}

const InputNoiseSources& Setting::input_noise(double frequency_hz) {
    const auto known = input_noise_.find(frequency_hz);
    if (known != input_noise_.end()) return known->second;
    return input_noise_.emplace(frequency_hz, input_noise_sources(*this, frequency_hz))
        .first->second;
}

const BestSource& Setting::best_source(const Band& band) {
    const std::pair key{band.from_hz, band.to_hz};
    const auto known = best_source_.find(key);
    if (known != best_source_.end()) return known->second;
    return best_source_.emplace(key, lowhiss::best_source(*this, band)).first->second;
}

const Stability& Setting::stability() {
    if (!stability_) stability_ = stability_of(circuit(), network().plan());
    return *stability_;
}

const SwitchOn& Setting::switch_on() {
    if (!switch_on_) switch_on_ = switch_on_of(*this);
    return *switch_on_;
}

Stability Setting::stability_with_cable(double cable_f) {
    Board board = *board_;
    board.output.cable_f = cable_f;
    Circuit built = build_circuit(board, angle(), capsule_);
    return stability_of(small_signal(std::move(built), sides_[CircuitKind::real].point),
                        network().plan());
}

SolverAccount Setting::account() const {
    SolverAccount sum;
    for (const auto& [kind, side] : sides_) {
        if (side.network) sum.add(side.network->account());
    }
    return sum;
}

}  // namespace lowhiss
