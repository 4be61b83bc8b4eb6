#include "lowhiss/measure/assembly.hpp"

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/topology/check.hpp"

namespace lowhiss {

Assembly::Assembly(const Board& board, const std::string& variant, const std::string& capsule,
                   const Plans& plans)
    : assembled_(with_variant(board, variant_named(board, variant))),
      variant_(variant),
      capsule_name_(capsule),
      capsule_(capsule_named(assembled_, capsule)),
      plans_(plans),
      is_accepted_(plans.real != nullptr) {}

const Plans& Assembly::plans() {
    if (plans_.real) return plans_;
    std::vector<Setting*> samples;
    for (const double rotation : planned_rotations(assembled_)) {
        samples.push_back(&unchecked(rotation));
    }
    plans_ = make_plans(samples);
    for (Setting* sample : samples) sample->use(plans_);
    return plans_;
}

std::vector<double> Assembly::positions() const {
    return assembled_.knob ? assembled_.knob->positions : std::vector<double>{0};
}

Setting& Assembly::unchecked(double rotation) {
    std::unique_ptr<Setting>& setting = slots_[rotation].setting;
    if (!setting)
        setting = std::make_unique<Setting>(assembled_, capsule_, rotation, plans_, &ends_);
    return *setting;
}

Setting& Assembly::setting(double rotation) {
    bool& checked = slots_[rotation].checked;
    if (!checked && !is_accepted_) {
        const Diagnostics findings = check_assembly(assembled_, capsule_, {&rotation, 1});
        if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, findings);
        plans();
    }
    checked = true;
    return unchecked(rotation);
}

std::vector<Setting*> Assembly::settings() {
    std::vector<Setting*> all;
    for (const double rotation : positions()) all.push_back(&setting(rotation));
    return all;
}

double Assembly::gain_at(double rotation, double frequency_hz) {
    const auto key = std::pair(rotation, frequency_hz);
    const auto known = gains_db_.find(key);
    if (known != gains_db_.end()) return known->second;
    return gains_db_[key] = gain_db(setting(rotation), frequency_hz);
}

std::vector<double> Assembly::gains_db(double frequency_hz) {
    std::vector<double> gains;
    for (const double rotation : positions()) gains.push_back(gain_at(rotation, frequency_hz));
    return gains;
}

void Assembly::forget(double rotation) {
    const auto slot = slots_.find(rotation);
    if (slot == slots_.end()) return;
    if (slot->second.setting) forgotten_.add(slot->second.setting->account());
    slots_.erase(slot);
}

SolverAccount Assembly::account() const {
    SolverAccount sum = forgotten_;
    for (const auto& [rotation, slot] : slots_) {
        if (slot.setting) sum.add(slot.setting->account());
    }
    return sum;
}

}  // namespace lowhiss
