#pragma once

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// The node of the output pin; `law` must be that of an amplifier.
inline int output_node(const ElementLaw& law) {
    if (const auto* opamp = std::get_if<Amplifier>(&law)) return opamp->out;
    return std::get<PreampStage>(law).out;
}

}  // namespace lowhiss
