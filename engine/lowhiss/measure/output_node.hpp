#pragma once

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// The node that an amplifier's output pin is on; `law` is that of an amplifier.
inline int output_node(const ElementLaw& law) {
    if (const auto* opamp = std::get_if<Amplifier>(&law)) return opamp->out;
    return std::get<PreampStage>(law).out;
}

}  // namespace lowhiss
