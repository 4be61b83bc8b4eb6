#pragma once

#include <string>
#include <string_view>

namespace lowhiss {

// Character classes that do not depend on the locale.

constexpr bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

constexpr char lower_case(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

constexpr bool is_letter(char c) {
    return lower_case(c) >= 'a' && lower_case(c) <= 'z';
}

inline std::string lower_case(std::string_view text) {
    std::string lower(text);
    for (char& c : lower) c = lower_case(c);
    return lower;
}

inline std::string upper_case(std::string_view text) {
    std::string upper(text);
    for (char& c : upper) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    return upper;
}

/// The text without white space at either end: a view into it, even if that is empty.
constexpr std::string_view trimmed(std::string_view text) {
    constexpr std::string_view spaces = " \t\r\n";
    const auto first = text.find_first_not_of(spaces);
    if (first == std::string_view::npos) return text.substr(text.size());
    return text.substr(first, text.find_last_not_of(spaces) - first + 1);
}

}  // namespace lowhiss
