#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace lowhiss::cli {

/// Keys stay in the order they are written in.
using Json = nlohmann::ordered_json;

/// What does not exist is null, never an empty text.
inline Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}

/// The document with a final newline; what is no UTF-8 is replaced.
inline std::string json_text(const Json& document) {
    return document.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lowhiss::cli
