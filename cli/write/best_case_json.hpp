#pragma once

#include <vector>

#include "lowhiss/measure/model_gap.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {

/// Lists of measures, or of gaps alone, for "assumes_ideal".
Json assumed_json(const std::vector<AssumedIdeal>& assumed);
Json gaps_json(const std::vector<ModelGap>& gaps);

}  // namespace lowhiss::cli
