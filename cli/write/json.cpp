#include "write/json.hpp"

#include <fmt/format.h>

#include <cstdint>
#include <nlohmann/json.hpp>

#include "lowhiss/text/utf8.hpp"

namespace lowhiss::cli {
namespace {

/// Invisible characters, which stand in texts only, by their codes: they could control a terminal.
std::string visible(std::string_view json) {
    std::string text;
    while (!json.empty()) {
        const std::string_view before = json;
        const char32_t c = take_code_point(json);
        const auto code = static_cast<std::uint32_t>(c);
        if (c == '\n' || !is_invisible(c))
            text += before.substr(0, before.size() - json.size());
        else if (code <= 0xFFFF)
            text += fmt::format("\\u{:04x}", code);
        else
            text += fmt::format("\\u{:04x}\\u{:04x}", 0xD7C0U + (code >> 10U),
                                0xDC00U + (code & 0x3FFU));
    }
    return text;
}

}  // namespace

Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}

std::string json_text(const Json& document) {
    return visible(document.dump(1, ' ', false, Json::error_handler_t::replace)) + "\n";
}

std::string script_json(const Json& document) {
    std::string safe;
    for (const char c : visible(document.dump(-1, ' ', false, Json::error_handler_t::replace))) {
        safe += c == '<' ? std::string("\\u003c") : std::string(1, c);
    }
    return safe;
}

}  // namespace lowhiss::cli
