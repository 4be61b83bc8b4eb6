#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/limit.hpp"
#include "lowhiss/measure/assembly.hpp"

namespace lowhiss {

struct Verdict;

/// The parts that move the figure of a failed limit most when each is made 1 % larger, at most
/// three; for a measure of noise, the parts with most noise at the output; for a loss of bass, the
/// causes of analysis/rolloff.hpp.
std::vector<std::string> parts_to_look_at(const Limit& limit, Assembly& assembly, double rotation,
                                          const Verdict& failed);

}  // namespace lowhiss
