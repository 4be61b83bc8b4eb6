#pragma once

#include <string>
#include <vector>

namespace lowhiss::cli {

/// The alterations that one --set of compare names: R5=15R,22R are R5=15R and R5=22R. Commas within
/// brackets or quotes belong to a value. Throws UsageError for a list that may be a decimal comma.
std::vector<std::string> set_list(const std::string& text);

/// Every combination of one alteration from each list; those of the last list vary fastest. Throws
/// UsageError if they are too many to compare.
std::vector<std::vector<std::string>> combinations(
    const std::vector<std::vector<std::string>>& lists);

}  // namespace lowhiss::cli
