#pragma once

#include "json.hpp"
#include "lowhiss/measure/behaviour.hpp"

namespace lowhiss::cli {

Json behaviour_json(const Behaviour& behaviour);

}  // namespace lowhiss::cli
