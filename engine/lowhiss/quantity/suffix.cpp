#include "lowhiss/quantity/suffix.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/phrase.hpp"
#include "lowhiss/quantity/quote.hpp"

namespace lowhiss {
namespace {

// The symmetric tolerances of IEC 60062:2016 by their letters, in percent (from memory).
struct ToleranceLetter {
    char letter;
    std::string_view percent;
};

constexpr auto tolerance_letters = std::to_array<ToleranceLetter>({{'E', "0.005"},
                                                                   {'L', "0.01"},
                                                                   {'P', "0.02"},
                                                                   {'W', "0.05"},
                                                                   {'B', "0.1"},
                                                                   {'C', "0.25"},
                                                                   {'D', "0.5"},
                                                                   {'F', "1"},
                                                                   {'G', "2"},
                                                                   {'H', "3"},
                                                                   {'J', "5"},
                                                                   {'K', "10"},
                                                                   {'M', "20"},
                                                                   {'N', "30"}});

const Prefix* find_prefix(char letter, const UnitInfo& unit) {
    if (letter == 'K' && unit.unit == Unit::ohm) letter = 'k';  // as IEC 60062 writes it
    const auto found = std::ranges::find(prefixes(), letter, &Prefix::letter);
    return found == prefixes().end() ? nullptr : &*found;
}

// A suffix that begins with the letter of a code is read like any other, except that the letter has
// to be a prefix or a whole unit: "1p5pm" is not 1.5 ppm.
std::optional<Suffix> match(std::string_view text, const UnitInfo& unit, bool is_code = false) {
    for (const Spelling& spelling : unit.spellings) {
        if (text == spelling.text && spelling.prefix != PrefixUse::required) {
            if (!is_code || text.size() == 1) return Suffix{spelling, spelling.exponent};
        } else if (!text.empty() && text.substr(1) == spelling.text &&
                   spelling.prefix != PrefixUse::none) {
            if (const Prefix* prefix = find_prefix(text[0], unit))
                return Suffix{spelling, spelling.exponent + prefix->exponent};
        }
    }
    return std::nullopt;
}

std::vector<std::string> other_cases(const Written& written, const UnitInfo& unit) {
    std::vector<std::string> texts;
    const auto try_suffix = [&](const std::string& suffix) {
        if (lower_case(suffix) == lower_case(written.suffix) &&
            match(suffix, unit, written.is_code()))
            texts.push_back(written.with_suffix(suffix));
    };
    for (const Spelling& spelling : unit.spellings) {
        try_suffix(std::string(spelling.text));
        for (const Prefix& prefix : prefixes()) {
            try_suffix(prefix.letter + std::string(spelling.text));
        }
    }
    return texts;
}

std::optional<Fault> missing(const Written& written, const UnitInfo& unit) {
    if (!written.suffix.empty()) return std::nullopt;
    std::vector<std::string> texts;
    for (const auto ending : unit.when_missing) {
        if (!ending.empty()) texts.push_back(written.before + std::string(ending));
    }
    const bool wants_prefix =
        std::ranges::count(unit.spellings, PrefixUse::required, &Spelling::prefix) > 0;
    return Fault{wants_prefix ? "has neither a prefix letter nor a unit" : "has no unit",
                 write_one_of(texts)};
}

std::optional<Fault> tolerance(const Written& written, const UnitInfo& unit) {
    std::string value = written.suffix;
    const char letter = value.back();
    value.pop_back();
    if (unit.tolerance_letters.find(letter) == std::string_view::npos) return std::nullopt;
    if (!match(value, unit, written.is_code())) return std::nullopt;
    const auto percent =
        std::ranges::find(tolerance_letters, letter, &ToleranceLetter::letter)->percent;
    return Fault{
        fmt::format("ends in {}, the IEC 60062 letter of a {} % tolerance", letter, percent),
        fmt::format("write {} and tolerance = \"{} %\"", written.with_suffix(value), percent)};
}

// `4k7F` is a marking with its tolerance, but `47 kF` is a capacitance.
std::optional<Fault> tolerance_of_code(const Written& written, const UnitInfo& unit) {
    return written.is_code() ? tolerance(written, unit) : std::nullopt;
}

std::optional<Fault> unit_of_another(const Written& written, const UnitInfo& unit) {
    for (const UnitInfo& other : units()) {
        const auto suffix = match(written.suffix, other, written.is_code());
        if (suffix && !suffix->spelling.text.empty())
            return Fault{fmt::format("has the unit {} of {}", suffix->spelling.text,
                                     with_article(other.name)),
                         write_one_of(other_cases(written, unit))};
    }
    return std::nullopt;
}

std::optional<Fault> wrong_case(const Written& written, const UnitInfo& unit) {
    const auto texts = other_cases(written, unit);
    if (texts.empty()) return std::nullopt;
    return Fault{"has a letter in the wrong case", write_one_of(texts)};
}

std::optional<Fault> needless_prefix(const Written& written, const UnitInfo& unit) {
    if (written.suffix.size() != 1 || !find_prefix(written.suffix[0], unit)) return std::nullopt;
    return Fault{fmt::format("has the prefix {}, which {} does not take", written.suffix,
                             with_article(unit.name))};
}

std::optional<Fault> trailing(const Written& written, const UnitInfo& unit) {
    const std::string_view suffix = written.suffix;
    for (auto length = suffix.size(); length-- > 0;) {
        const auto unit_text = trimmed(suffix.substr(0, length));
        if (!is_letter(suffix[length]) && match(unit_text, unit, written.is_code()))
            return Fault{
                fmt::format("has {} after the value", quote(trimmed(suffix.substr(length))))};
    }
    return std::nullopt;
}

}  // namespace

std::optional<Suffix> find_suffix(const Written& written, const UnitInfo& unit) {
    return match(written.suffix, unit, written.is_code());
}

Fault explain_suffix(const Written& written, const UnitInfo& unit) {
    for (const auto explain : {missing, tolerance_of_code, unit_of_another, wrong_case, tolerance,
                               needless_prefix, trailing}) {
        if (auto fault = explain(written, unit)) return *fault;
    }
    return {fmt::format("has the unknown unit {}", quote(written.suffix))};
}

}  // namespace lowhiss
