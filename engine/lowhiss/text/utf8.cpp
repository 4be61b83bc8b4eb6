#include "lowhiss/text/utf8.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace lowhiss {
namespace {

/// The number of bytes that a lead byte announces, itself included; 0 if it is not a lead byte.
std::size_t announced_bytes(unsigned lead) {
    if (lead < 0x80) return 1;
    if (lead < 0xC2 || lead > 0xF4) return 0;
    return lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
}

/// Rejects overlong encodings, surrogates and code points beyond U+10FFFF.
bool is_valid(char32_t code_point, std::size_t bytes) {
    constexpr std::array<char32_t, 5> smallest{0, 0, 0x80, 0x800, 0x10000};
    const bool surrogate = code_point >= 0xD800 && code_point <= 0xDFFF;
    return code_point >= smallest[bytes] && code_point <= 0x10FFFF && !surrogate;
}

/// The noncharacters of Unicode 15, section 23.7: the last two code points of each plane, and
/// U+FDD0 to U+FDEF.
bool is_no_character(char32_t c) {
    return (c <= 0x10FFFF && (c & 0xFFFEU) == 0xFFFE) || (c >= 0xFDD0 && c <= 0xFDEF);
}

}  // namespace

char32_t take_code_point(std::string_view& text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const std::size_t bytes = announced_bytes(byte(0));
    char32_t code_point = bytes < 2 ? byte(0) : byte(0) & (0xFFU >> (bytes + 1));
    bool valid = bytes > 0 && bytes <= text.size();
    for (std::size_t i = 1; valid && i < bytes; ++i) {
        valid = (byte(i) & 0xC0U) == 0x80U;
        code_point = code_point << 6U | (byte(i) & 0x3FU);
    }
    valid = valid && is_valid(code_point, bytes);
    text.remove_prefix(valid ? bytes : 1);
    return valid ? code_point : invalid_code_point;
}

bool is_control(char32_t c) {
    return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

bool is_invisible(char32_t c) {
    return is_control(c) || c == 0xAD || (c >= 0x200B && c <= 0x200F) ||
           (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF ||
           (c >= 0xFFF9 && c <= 0xFFFB) || (c >= 0xE0000 && c <= 0xE007F) || is_no_character(c);
}

std::string printable(std::string_view text) {
    std::string shown;
    while (!text.empty()) {
        const std::string_view before = text;
        const char32_t c = take_code_point(text);
        const bool plain = c == '\t' || (c != invalid_code_point && !is_invisible(c));
        shown += plain ? before.substr(0, before.size() - text.size()) : "?";
    }
    return shown;
}

}  // namespace lowhiss
