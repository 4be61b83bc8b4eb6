#pragma once

#include <optional>
#include <string_view>

#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// What the text of a level says that it is the level of: Unit::db_spl for "94 dB SPL", Unit::dbu
/// for "-10 dBu". Nothing if it says neither, as a bare number or "94 dB".
std::optional<Unit> unit_of_level(std::string_view text);

}  // namespace lowhiss
