#pragma once

#include "lowhiss/board/load.hpp"

namespace lowhiss {

/// All models and capsules that were gathered. A name defined twice is an error unless both
/// definitions say the same.
Models read_models(const std::vector<ModelDefinition>& definitions, const FileReader& reader,
                   Diagnostics& out);

}  // namespace lowhiss
