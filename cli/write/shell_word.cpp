#include "write/shell_word.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

#include "lowhiss/quantity/ascii.hpp"
#include "shell/names.hpp"

namespace lowhiss::cli {
namespace {

bool needs_no_quotes(char letter) {
    constexpr std::string_view harmless = "_./+-=:@%,";
    return is_letter(letter) || is_digit(letter) || harmless.find(letter) != std::string_view::npos;
}

/// Dollar-single-quotes of POSIX.1-2024, with every byte that is not plain by its octal number.
std::string in_octal(const std::string& name) {
    std::string word = "$'";
    for (const char letter : name) {
        word += needs_no_quotes(letter)
                    ? std::string(1, letter)
                    : fmt::format("\\{:03o}", static_cast<unsigned char>(letter));
    }
    return word + "'";
}

bool is_visible(const std::string& name) {
    return for_terminal(name) == name && name.find('\t') == std::string::npos;
}

}  // namespace

std::string shell_word(const std::string& name) {
    if (name.starts_with('-')) return shell_word("./" + name);  // else it is an option
    if (!name.empty() && std::all_of(name.begin(), name.end(), needs_no_quotes)) return name;
    if (!is_visible(name)) return in_octal(name);
    std::string word = "'";
    for (const char letter : name) word += letter == '\'' ? "'\\''" : std::string(1, letter);
    return word + "'";
}

}  // namespace lowhiss::cli
