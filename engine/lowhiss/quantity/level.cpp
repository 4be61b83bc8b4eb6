#include "lowhiss/quantity/level.hpp"

#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss {

std::optional<Unit> unit_of_level(std::string_view text) {
    const auto lower = lower_case(text);
    if (lower.find("spl") != std::string::npos) return Unit::db_spl;
    if (lower.find("dbu") != std::string::npos) return Unit::dbu;
    return {};
}

}  // namespace lowhiss
