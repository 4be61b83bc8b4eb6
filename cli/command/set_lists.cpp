#include "command/set_lists.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/quantity/ascii.hpp"
#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

std::vector<std::string> parts_between_commas(const std::string& text) {
    std::vector<std::string> parts(1);
    int depth = 0;
    char quote = 0;
    for (const char c : text) {
        if (quote != 0)
            quote = c == quote ? char(0) : quote;
        else if (c == '"' || c == '\'')
            quote = c;
        else if (c == '[' || c == '{')
            ++depth;
        else if (c == ']' || c == '}')
            --depth;
        const bool separates = c == ',' && depth == 0 && quote == 0;
        if (separates)
            parts.emplace_back();
        else
            parts.back() += c;
    }
    return parts;
}

bool is_whole(const std::string& text) {
    return !text.empty() && std::all_of(text.begin(), text.end(), is_digit);
}

/// 4,7R is more likely a decimal comma than 4 ohm and 7 ohm.
void refuse_decimal_comma(const std::string& text, const std::vector<std::string>& values) {
    for (std::size_t k = 0; k + 1 < values.size(); ++k) {
        const std::string& next = values[k + 1];
        if (!is_whole(values[k]) || is_whole(next) || next.empty() || !is_digit(next.front()))
            continue;
        throw UsageError(
            fmt::format("--set: in '{}' the comma after {} may be a decimal one; accepted: {}.{} "
                        "for one value, or a unit with each of several",
                        text, values[k], values[k], next));
    }
}

}  // namespace

std::vector<std::string> set_list(const std::string& text) {
    const auto equals = text.find('=');
    if (equals == std::string::npos) return {text};
    const std::vector<std::string> values = parts_between_commas(text.substr(equals + 1));
    refuse_decimal_comma(text, values);
    std::vector<std::string> list;
    list.reserve(values.size());
    for (const std::string& value : values) list.push_back(text.substr(0, equals + 1) + value);
    return list;
}

std::vector<std::vector<std::string>> combinations(
    const std::vector<std::vector<std::string>>& lists) {
    constexpr std::size_t most = 100;
    std::vector<std::vector<std::string>> all{{}};
    for (const auto& list : lists) {
        std::vector<std::vector<std::string>> longer;
        for (const auto& begun : all) {
            for (const std::string& next : list) {
                longer.push_back(begun);
                longer.back().push_back(next);
            }
            if (longer.size() <= most) continue;
            throw UsageError(fmt::format(
                "--set: more than {} boards to compare; accepted: shorter lists, or a [choose] in "
                "the board and lowhiss choose",
                most));
        }
        all = std::move(longer);
    }
    return all;
}

}  // namespace lowhiss::cli
