#include "write/shell_word.hpp"

#include <algorithm>
#include <string_view>

#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss::cli {
namespace {

bool is_plain(char letter) {
    constexpr std::string_view harmless = "_./+-=:@%,";
    return is_letter(letter) || is_digit(letter) || harmless.find(letter) != std::string_view::npos;
}

}  // namespace

std::string shell_word(const std::string& name) {
    if (name.starts_with('-')) return shell_word("./" + name);  // else it is an option
    if (!name.empty() && std::all_of(name.begin(), name.end(), is_plain)) return name;
    std::string word = "'";
    for (const char letter : name) word += letter == '\'' ? "'\\''" : std::string(1, letter);
    return word + "'";
}

}  // namespace lowhiss::cli
