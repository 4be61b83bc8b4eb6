#include "lowhiss/measure/plans.hpp"

#include <vector>

#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/measure/ideal.hpp"

namespace lowhiss {
namespace {

std::vector<double> rotations(const Board& assembled) {
    if (!assembled.knob) return {0};
    const std::vector<double>& positions = assembled.knob->positions;
    if (positions.size() < 3) return positions;
    return {positions.front(), positions[positions.size() / 2], positions.back()};
}

template <class Build>
std::shared_ptr<const Plan> plan_over(const std::vector<double>& rotations, Build build) {
    std::vector<Circuit> circuits;
    std::vector<Pencil> pencils;
    std::vector<const Pencil*> samples;
    circuits.reserve(rotations.size());
    pencils.reserve(rotations.size());
    for (const double rotation : rotations) {
        circuits.push_back(build(rotation));
        pencils.push_back(assemble(circuits.back()));
        if (samples.empty() || pencils.back().row == pencils.front().row) {
            samples.push_back(&pencils.back());
        }
    }
    return std::make_shared<const Plan>(make_plan(samples));
}

}  // namespace

Plans make_plans(const Board& assembled, const Capsule* capsule) {
    const std::vector<double> at = rotations(assembled);
    Plans plans;
    plans.real = plan_over(
        at, [&](double rotation) { return small_signal_circuit(assembled, rotation, capsule); });
    plans.ideal =
        plan_over(at, [&](double rotation) { return build_ideal(assembled, capsule, rotation); });
    try {
        plans.common = plan_over(at, [&](double rotation) {
            return small_signal_circuit(assembled, rotation, capsule, Drive::common);
        });
    } catch (const Error&) {
        plans.common = nullptr;  // an input that is ground on one side cannot be driven so
    }
    return plans;
}

}  // namespace lowhiss
