#include "lowhiss/text/nearest.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>

#include "lowhiss/text/utf8.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t longest_compared = 80;
constexpr std::size_t longest_list = 40;

std::u32string code_points_of(std::string_view text) {
    std::u32string code_points;
    while (!text.empty()) code_points += take_code_point(text);
    return code_points;
}

char32_t lower(char32_t letter) {
    return letter >= 'A' && letter <= 'Z' ? letter - 'A' + 'a' : letter;
}

/// Whether two letters count as the same: case is ignored, and a letter with an accent or of
/// another alphabet matches any ASCII letter.
bool alike(char32_t a, char32_t b) {
    return lower(a) == lower(b) || (a < 0x80) != (b < 0x80);
}

bool is_decimal_digit(char32_t c) {
    return c >= '0' && c <= '9';
}

/// The cost of replacing a letter. Digits cost more: R2 is rarely a misspelt R1.
std::size_t change(char32_t a, char32_t b) {
    if (alike(a, b)) return 0;
    return is_decimal_digit(a) && is_decimal_digit(b) ? 2 : 1;
}

/// The optimal string alignment distance (edits, and swaps of neighbours) of two names.
std::size_t distance(std::u32string_view a, std::u32string_view b) {
    std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
    for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        for (std::size_t j = 1; j <= b.size(); ++j) {
            d[i][j] = std::min(
                {d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + change(a[i - 1], b[j - 1])});
            const bool swapped =
                i > 1 && j > 1 && alike(a[i - 1], b[j - 2]) && alike(a[i - 2], b[j - 1]);
            if (swapped) d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
        }
    }
    return d[a.size()][b.size()];
}

bool is_ascii(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return (c & 0x80) == 0; });
}

/// A candidate that is a prefix of the name or has it as a prefix: "ref", "minimum".
std::optional<std::string> completed(std::string_view name,
                                     std::span<const std::string> candidates) {
    const auto fits = [&](const std::string& candidate) {
        return std::min(name.size(), candidate.size()) >= 3 &&
               (name.starts_with(candidate) || candidate.starts_with(name));
    };
    const auto found = std::find_if(candidates.begin(), candidates.end(), fits);
    return found == candidates.end() ? std::nullopt : std::optional(*found);
}

}  // namespace

std::optional<std::string> nearest(std::string_view name, std::span<const std::string> candidates) {
    if (name.size() > longest_compared) return std::nullopt;
    const std::u32string typed = code_points_of(name);
    const std::size_t most_edits = std::max<std::size_t>(1, typed.size() / 3);
    std::optional<std::string> best;
    std::pair<std::size_t, bool> best_score{most_edits + 1, false};
    for (const std::string& candidate : candidates) {
        if (candidate.size() > longest_compared) continue;
        const std::u32string meant = code_points_of(candidate);
        const std::size_t edits = distance(typed, meant);
        const std::pair score{edits, meant.size() != typed.size()};
        if (score < best_score && edits < meant.size()) {
            best = candidate;
            best_score = score;
        }
    }
    return best ? best : completed(name, candidates);
}

std::string did_you_mean(std::string_view name, std::span<const std::string> candidates) {
    const auto match = nearest(name, candidates);
    if (!match) return "";
    const bool look_alike = !is_ascii(name) && is_ascii(*match);
    return fmt::format("did you mean '{}'{}?", *match, look_alike ? ", all in ASCII letters" : "");
}

std::string listed(std::span<const std::string> names) {
    const std::size_t shown = names.size() > longest_list ? longest_list - 1 : names.size();
    const std::string list = fmt::format("{}", fmt::join(names.first(shown), ", "));
    return shown == names.size() ? list : fmt::format("{} and {} more", list, names.size() - shown);
}

}  // namespace lowhiss
