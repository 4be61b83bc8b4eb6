#pragma once

#include <optional>

#include "lowhiss/quantity/unit.hpp"
#include "lowhiss/quantity/written.hpp"

namespace lowhiss {

/// A known prefix and unit.
struct Suffix {
    const Spelling& spelling;
    int exponent;  // sum of those of prefix and spelling
};

/// The suffix of `written` in terms of `unit`; nothing if it is none of the unit.
std::optional<Suffix> find_suffix(const Written& written, const UnitInfo& unit);

/// Why the suffix of `written` is none of `unit`. Call it only if that is so.
Fault explain_suffix(const Written& written, const UnitInfo& unit);

}  // namespace lowhiss
