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

/// The suffix of `written` as prefix and spelling of `unit`; nothing if the unit does not have it.
std::optional<Suffix> find_suffix(const Written& written, const UnitInfo& unit);

/// Why `unit` does not have the suffix of `written`. Call it only if `find_suffix` returns nothing.
Fault explain_suffix(const Written& written, const UnitInfo& unit);

}  // namespace lowhiss
