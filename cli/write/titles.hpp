#pragma once

#include <string>

namespace lowhiss::cli {

/// "Heron, revision C, variant condenser"
std::string board_title(const std::string& board, const std::string& revision,
                        const std::string& variant = "");

/// "Heron, revision C, variant condenser, capsule condenser-60p"
std::string assembly_title(const std::string& board, const std::string& revision,
                           const std::string& variant, const std::string& capsule);

}  // namespace lowhiss::cli
