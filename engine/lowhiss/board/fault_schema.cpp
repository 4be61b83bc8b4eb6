#include "lowhiss/board/fault_schema.hpp"

#include <array>

namespace lowhiss {

std::span<const FaultSchema> fault_schemas() {
    using Kind = FaultKind;
    static constexpr std::array schemas{
        FaultSchema{Kind::too_little, "supply_too_low",
                    "an amplifier has less than its `supply_min`"},
        FaultSchema{Kind::too_much, "supply_too_high",
                    "an amplifier has more than its `supply_max`"},
        FaultSchema{Kind::stuck, "output_stuck", "an amplifier's output rests at a rail"},
        FaultSchema{Kind::offset, "offset",
                    "offsets may drive an amplifier's output beyond its swing"},
        FaultSchema{Kind::overdrawn, "overloaded", "a feed delivers more than its limit"},
        FaultSchema{Kind::starved, "drops_out", "a regulator or converter has too little input"},
        FaultSchema{Kind::held, "forced", "another source holds a regulator's output"},
        FaultSchema{Kind::charged, "charged", "current flows into a battery"},
        FaultSchema{Kind::over_rating, "overvoltage", "a capacitor has more than its `rating`"},
        FaultSchema{Kind::not_active, "not_active",
                    "a transistor is cut off, saturated or reversed, or its gate conducts"},
        FaultSchema{Kind::reversed, "reversed", "a polarised capacitor is reverse biased"},
    };
    return schemas;
}

std::string_view name_of(FaultKind kind) {
    return fault_schemas()[static_cast<std::size_t>(kind)].name;
}

}  // namespace lowhiss
