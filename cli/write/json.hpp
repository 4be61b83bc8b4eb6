#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace lowhiss::cli {

/// Keys stay in the order in which they are written.
using Json = nlohmann::ordered_json;

/// Null for an empty text.
Json text_or_null(const std::string& text);

/// The document with a final newline; bytes that are not UTF-8 are replaced, invisible characters
/// written as their codes.
std::string json_text(const Json& document);

/// The same in one line for a script element of HTML, which ends at the first "</" even inside
/// quotes.
std::string script_json(const Json& document);

}  // namespace lowhiss::cli
