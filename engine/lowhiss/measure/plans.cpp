#include "lowhiss/measure/plans.hpp"

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/solver/plan.hpp"

namespace lowhiss {
namespace {

std::shared_ptr<const Plan> plan_over(std::span<Setting* const> settings, CircuitKind kind) {
    std::vector<Pencil> pencils;
    std::vector<const Pencil*> samples;
    pencils.reserve(settings.size());
    for (Setting* setting : settings) {
        pencils.push_back(assemble(setting->circuit(kind)));
        if (samples.empty() || pencils.back().row == pencils.front().row) {
            samples.push_back(&pencils.back());
        }
    }
    return std::make_shared<const Plan>(make_plan(samples));
}

}  // namespace

std::vector<double> planned_rotations(const Board& assembled) {
    if (!assembled.knob) return {0};
    const std::vector<double>& positions = assembled.knob->positions;
    if (positions.size() < 3) return positions;
    return {positions.front(), positions[positions.size() / 2], positions.back()};
}

Plans make_plans(std::span<Setting* const> settings) {
    Plans plans;
    plans.real = plan_over(settings, CircuitKind::real);
    plans.ideal = plan_over(settings, CircuitKind::ideal);
    try {
        plans.common = plan_over(settings, CircuitKind::common);
    } catch (const Error&) {
        plans.common = nullptr;  // an input with a grounded terminal has no common mode
    }
    return plans;
}

Plans make_plans(const Board& assembled, const Capsule* capsule) {
    std::vector<std::unique_ptr<Setting>> settings;
    std::vector<Setting*> all;
    for (const double rotation : planned_rotations(assembled)) {
        settings.push_back(std::make_unique<Setting>(assembled, capsule, rotation));
        all.push_back(settings.back().get());
    }
    return make_plans(all);
}

}  // namespace lowhiss
