#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

/// "a resistance", "an inductance".
std::string with_article(std::string_view noun);

/// "write a", "write a or b", "write a, b or c"; empty for an empty list.
std::string write_one_of(const std::vector<std::string>& texts);

}  // namespace lowhiss
