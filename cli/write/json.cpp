#include "write/json.hpp"

#include <nlohmann/json.hpp>

namespace lowhiss::cli {

Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}

std::string json_text(const Json& document) {
    return document.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string script_json(const Json& document) {
    std::string safe;
    for (const char c : document.dump(-1, ' ', false, Json::error_handler_t::replace)) {
        safe += c == '<' ? std::string("\\u003c") : std::string(1, c);
    }
    return safe;
}

}  // namespace lowhiss::cli
