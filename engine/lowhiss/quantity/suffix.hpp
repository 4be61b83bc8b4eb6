#pragma once

#include <optional>

#include "lowhiss/quantity/unit.hpp"
#include "lowhiss/quantity/written.hpp"

namespace lowhiss {

/// A prefix and unit that were understood.
struct Suffix {
    const Spelling& spelling;
    int exponent;  // of prefix and spelling together
};

/// The suffix of `written` as one of `unit`; nothing where it is none.
std::optional<Suffix> find_suffix(const Written& written, const UnitInfo& unit);

/// Why the suffix of `written` is none of `unit`, given that it is not.
Fault explain_suffix(const Written& written, const UnitInfo& unit);

}  // namespace lowhiss
