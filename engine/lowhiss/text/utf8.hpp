#pragma once

#include <string_view>

namespace lowhiss {

/// Stands for a byte that is no part of valid UTF-8.
inline constexpr char32_t invalid_code_point = 0xFFFFFFFF;

/// Takes the first code point off a text that is not empty; of invalid UTF-8, one byte.
char32_t take_code_point(std::string_view& text);

/// C0 and C1 controls and DEL: what can drive a terminal.
bool is_control(char32_t code_point);

/// What shows nothing of its own, or reorders what stands around it.
bool is_invisible(char32_t code_point);

}  // namespace lowhiss
