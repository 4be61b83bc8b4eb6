#include "command/stability_warning.hpp"

#include <fmt/format.h>

#include <cmath>

#include "lowhiss/measure/assembly.hpp"
#include "shell/log.hpp"

namespace lowhiss::cli {

bool warn_if_unstable(const Board& assembled, const std::string& name,
                      const CommonOptions& options) {
    const auto log = make_logger(options);
    bool unstable = false;
    Assembly assembly(assembled, "", assembled.input.capsule);
    for (const double rotation : assembly.positions()) {
        try {
            const Stability& stability = assembly.setting(rotation).stability();
            if (stability.stable) continue;
            unstable = true;
            log->warn("{} is UNSTABLE{}: {}; its other figures are not valid", name,
                      assembled.knob ? fmt::format(" at knob {:.4g} %", 100 * rotation) : "",
                      instability_text(stability));
        } catch (const Error&) {
            return unstable;  // its figures report the error
        }
    }
    return unstable;
}

}  // namespace lowhiss::cli
