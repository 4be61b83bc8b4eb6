#include "lowhiss/measure/setting.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/ideal.hpp"

namespace lowhiss {

Circuit build_ideal(const Board& board, const Capsule* capsule, double rotation) {
    if (!capsule || !std::holds_alternative<ElectretCapsule>(capsule->impedance)) {
        return small_signal_circuit(board, rotation, nullptr);
    }
    Capsule ideal = *capsule;
    std::get<ElectretCapsule>(ideal.impedance).output_resistance_ohm = 0;
    return small_signal_circuit(board, rotation, &ideal);
}

namespace {

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

Setting::Setting(const Board& assembled, const Capsule* capsule, double rotation, Plans plans)
    : board_(&assembled),
      capsule_(capsule),
      rotation_(assembled.knob ? rotation : unset),
      plans_(std::move(plans)),
      network_(small_signal_circuit(assembled, rotation, capsule), plans_.real) {}

Network& Setting::ideal() {
    if (!ideal_) {
        ideal_.emplace(build_ideal(*board_, capsule_, rotation_), plans_.ideal);
    }
    return *ideal_;
}

void Setting::prepare(std::span<const double> frequency_hz) {
    remember(responses_, network_, frequency_hz);
}

void Setting::prepare_ideal(std::span<const double> frequency_hz) {
    remember(ideal_responses_, ideal(), frequency_hz);
}

const Response& Setting::at(double frequency_hz) {
    return remembered(responses_, network_, frequency_hz);
}

const Response& Setting::ideal_at(double frequency_hz) {
    return remembered(ideal_responses_, ideal(), frequency_hz);
}

const OutputNoise& Setting::noise(const Band& band) {
    const std::pair key{band.from_hz, band.to_hz};
    const auto known = noise_.find(key);
    if (known != noise_.end()) return known->second;
    return noise_.emplace(key, integrate_noise(network_, band)).first->second;
}

double Setting::ideal_noise_v2(const Band& band) {
    if (!has_capsule()) return noise(band).power_v2;
    const std::pair key{band.from_hz, band.to_hz};
    const auto known = ideal_noise_v2_.find(key);
    if (known != ideal_noise_v2_.end()) return known->second;
    return ideal_noise_v2_.emplace(key, integrate_noise(ideal(), band).power_v2).first->second;
}

const std::vector<PartRolloff>& Setting::rolloff() {
    if (rolloff_) return *rolloff_;
    rolloff_.emplace();
    for (const Rolloff& rolloff : bass_rolloff(network_)) {
        const auto part = static_cast<std::size_t>(rolloff.part);
        rolloff_->push_back({network_.circuit().parts[part].name, rolloff});
    }
    return *rolloff_;
}

const std::vector<double>& Setting::resonances_hz() {
    if (!resonances_hz_) resonances_hz_ = sharp_frequencies_hz(network_);
    return *resonances_hz_;
}

double Setting::low_corner_hz() {
    if (!low_corner_hz_) low_corner_hz_ = corner_hz(network_, at(reference_hz), Corner::low);
    return *low_corner_hz_;
}

double Setting::high_corner_hz() {
    if (!high_corner_hz_) high_corner_hz_ = corner_hz(network_, at(reference_hz), Corner::high);
    return *high_corner_hz_;
}

Network& Setting::driven(Drive drive) {
    const auto known = driven_.find(drive);
    if (known != driven_.end()) return known->second;
    const double rotation = std::isnan(rotation_) ? 0 : rotation_;
    Circuit circuit = small_signal_circuit(*board_, rotation, capsule_, drive);
    const bool of_capsule = drive == Drive::differential || drive == Drive::common;
    if (of_capsule) {
        circuit.lowest_hz = network_.circuit().lowest_hz;
        circuit.highest_hz = network_.circuit().highest_hz;
    }
    const std::shared_ptr<const Plan> plan = drive == Drive::common ? plans_.common : nullptr;
    return driven_.try_emplace(drive, std::move(circuit), plan).first->second;
}

Network* Setting::mismatched_feed() {
    if (!board_->feed) return nullptr;
    if (!mismatched_feed_) {
        Board board = *board_;
        board.feed->mismatch = board.feed->matching;
        const double rotation = std::isnan(rotation_) ? 0 : rotation_;
        mismatched_feed_.emplace(small_signal_circuit(board, rotation, capsule_));
    }
    return &*mismatched_feed_;
}

const OperatingPoint& Setting::operating() {
    if (!operating_) operating_ = operating_point(network_.circuit());
    return *operating_;
}

const SupplyState& Setting::supply(SupplyEnd end) {
    if (!has_supply_ends(*board_)) end = SupplyEnd::nominal;
    const auto known = supply_.find(end);
    if (known != supply_.end()) return known->second;
    const double rotation = std::isnan(rotation_) ? 0 : rotation_;
    return supply_.emplace(end, supply_state(at_supply(*board_, end), rotation, capsule_))
        .first->second;
}

const Stability& Setting::stability() {
    if (!stability_) {
        const double rotation = std::isnan(rotation_) ? 0 : rotation_;
        stability_ = stability_of(*board_, capsule_, rotation, network_.plan());
    }
    return *stability_;
}

SolverAccount Setting::account() const {
    SolverAccount sum = network_.account();
    if (ideal_) sum.add(ideal_->account());
    if (mismatched_feed_) sum.add(mismatched_feed_->account());
    for (const auto& [drive, network] : driven_) sum.add(network.account());
    return sum;
}

}  // namespace lowhiss
