#pragma once

#include <span>
#include <string_view>

namespace lowhiss {

/// The faults that a part may have by its direct voltages and currents.
enum class FaultKind {
    too_little,   ///< an amplifier's supply is below its minimum
    too_much,     ///< an amplifier's supply is above its maximum
    stuck,        ///< an amplifier's output is at a rail
    offset,       ///< offsets may drive an amplifier's output to a rail
    overdrawn,    ///< a feed delivers more than its limit
    starved,      ///< a regulator drops out
    held,         ///< another source holds a regulator's output
    charged,      ///< current flows into a battery
    over_rating,  ///< a capacitor's voltage is above its rating
    not_active,   ///< a transistor does not amplify
    reversed      ///< a polarised capacitor's voltage is reversed
};

/// The name under which a board accepts the fault, and its meaning.
struct FaultSchema {
    FaultKind kind;
    std::string_view name;
    std::string_view about;
};

/// In the order of FaultKind.
std::span<const FaultSchema> fault_schemas();

std::string_view name_of(FaultKind kind);

}  // namespace lowhiss
