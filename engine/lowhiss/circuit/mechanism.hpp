#pragma once

#include <string_view>

namespace lowhiss {

/// The physical cause of a noise source.
enum class Mechanism {
    thermal,
    voltage_noise,
    current_noise_plus,
    current_noise_minus,
    output_voltage_noise,
    self_noise,
    shot,
    collector_shot,
    base_shot,
    channel,
    gate_shot
};
std::string_view text_of(Mechanism mechanism);

}  // namespace lowhiss
