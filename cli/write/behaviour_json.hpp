#pragma once

#include "lowhiss/sweep/behaviour.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {

Json behaviour_json(const Behaviour& behaviour);

}  // namespace lowhiss::cli
