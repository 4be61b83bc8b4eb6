#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/limit.hpp"
#include "lowhiss/measure/assembly.hpp"

namespace lowhiss {

/// The parts that move a limit's figure most when each is made 1 % larger, at most three; for a
/// measure of noise, the parts with most noise at the output.
std::vector<std::string> parts_to_look_at(const Limit& limit, Assembly& assembly, double rotation,
                                          double at_hz);

}  // namespace lowhiss
