#pragma once

#include <string>
#include <string_view>

namespace lowhiss {

/// Stands for a byte that is not part of valid UTF-8.
inline constexpr char32_t invalid_code_point = 0xFFFFFFFF;

/// Removes the first code point, or one byte of invalid UTF-8, from a text that is not empty.
char32_t take_code_point(std::string_view& text);

/// C0 and C1 controls and DEL, which can control a terminal.
bool is_control(char32_t code_point);

/// Characters without a shape of their own, or that reorder their neighbours, and noncharacters
/// (such as U+FFFE), which no XML can hold.
bool is_invisible(char32_t code_point);

/// The text with a ? for each code point that could control a terminal or reorder its line, and for
/// each byte that is not UTF-8. Tabs stay.
std::string printable(std::string_view text);

}  // namespace lowhiss
