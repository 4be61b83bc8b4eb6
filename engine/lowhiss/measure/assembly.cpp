#include "lowhiss/measure/assembly.hpp"

#include "lowhiss/topology/check.hpp"

namespace lowhiss {

Assembly::Assembly(const Board& board, const std::string& variant, const std::string& capsule,
                   Plans plans)
    : assembled_(with_variant(board, variant_named(board, variant))),
      variant_(variant),
      capsule_name_(capsule),
      capsule_(capsule_named(assembled_, capsule)),
      plans_(std::move(plans)) {}

const Plans& Assembly::plans() {
    if (!plans_.real) plans_ = make_plans(assembled_, capsule_);
    return plans_;
}

std::vector<double> Assembly::positions() const {
    return assembled_.knob ? assembled_.knob->positions : std::vector<double>{0};
}

Setting& Assembly::setting(double rotation) {
    auto& slot = settings_[rotation];
    if (!slot) {
        const Diagnostics findings = check_assembly(assembled_, capsule_, {&rotation, 1});
        if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, findings);
        slot = std::make_unique<Setting>(assembled_, capsule_, rotation, plans());
    }
    return *slot;
}

SolverAccount Assembly::account() const {
    SolverAccount sum;
    for (const auto& [rotation, setting] : settings_) {
        if (setting) sum.add(setting->account());
    }
    return sum;
}

}  // namespace lowhiss
