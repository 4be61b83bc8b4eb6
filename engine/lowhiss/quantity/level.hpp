#pragma once

#include <optional>
#include <string_view>

#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// The unit that the text of a level names: Unit::db_spl for "94 dB SPL", Unit::dbu for "-10 dBu".
/// Nothing if it names neither, as a bare number or "94 dB".
std::optional<Unit> unit_of_level(std::string_view text);

}  // namespace lowhiss
