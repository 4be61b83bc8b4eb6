#include "command/supply_warning.hpp"

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/supply_faults.hpp"
#include "shell/log.hpp"

namespace lowhiss::cli {

void warn_of_supply_faults(const Board& assembled, const std::string& name,
                           const CommonOptions& options) {
    const auto log = make_logger(options);
    Assembly assembly(assembled, "", assembled.input.capsule);
    std::vector<std::vector<PlacedFault>> positions;
    for (const double rotation : assembly.positions()) {
        try {
            positions.push_back(faults_at(assembly.setting(rotation)));
        } catch (const Error&) {
            return;  // its figures report the error
        }
    }
    for (const PlacedFault& placed : over_positions(positions)) {
        if (placed.accepted.empty()) log->warn("{}: supply: {}", name, text_of(placed));
    }
}

}  // namespace lowhiss::cli
