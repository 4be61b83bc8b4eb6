#include "write/json.hpp"

#include <nlohmann/json.hpp>

namespace lowhiss::cli {

Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}

std::string json_text(const Json& document) {
    return document.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lowhiss::cli
