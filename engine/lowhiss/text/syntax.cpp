#include "lowhiss/text/syntax.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <iterator>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/source_line.hpp"
#include "lowhiss/text/utf8.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

struct Wording {
    std::string_view complaint;  ///< part of the parser's message
    std::string_view found;
    std::string_view accepted;
    std::string_view advice;
};

constexpr std::string_view any_value = "a text in quotes, a number, true, false, [ ] or { }";
constexpr std::string_view a_line = "key = value, a [heading] or a # comment";

/// The first entry whose complaint matches is used.
constexpr auto wordings = std::to_array<Wording>({
    {"dangling comma", "there is a comma before the }", "no comma after the last value", ""},
    {"closing '}', saw '\\n'", "the { } is not closed on its line", "a } at the end of the line",
     "for more lines, use a heading such as [parts.R1] instead of { }"},
    {"inline table: encountered end-of-file", "the { } is not closed", "a } at its end", ""},
    {"comma or closing '}'", "a comma is missing here", "a comma and the next key, or a }", ""},
    {"closing '}'", "a key is missing here", "key = value, or a }", ""},
    {"comma or closing ']'", "a comma is missing here", "a comma and the next value, or a ]", ""},
    {"array: encountered end-of-file", "the list is not closed", "a ] at its end", ""},
    {"expected '='", "an = is missing here", a_line, ""},
    {"key-value pair: expected value,", "the value is missing", any_value, ""},
    {"blank bare keys", "the heading has no name", "[name] or [[name]]", ""},
    {"table header: expected ']'", "the heading is not closed", "[name] or [[name]]", ""},
    {"table header: expected a comment", "there is more text after the heading",
     "a heading alone on its line", ""},
    {"expected a comment", "there is more text after the value", "one key = value on each line",
     ""},
    {"root table", "a line cannot begin like this", a_line, ""},
    {"parsing key:", "a part of the key is missing", "letters, digits, _ and -; others in quotes",
     ""},
    {"escape sequence", "the escape sequence is unknown",
     R"(\\ for a backslash, \" for a quote, \n, \t)",
     "in single quotes, '...', a backslash needs no escape"},
    {"unicode scalar", "this is not the code of a character", R"(\u and 4 hexadecimal digits)", ""},
    {"inline table", "a table written as { } cannot be extended", "",
     "write the key inside the { }"},
    {"representable", "the number is too large", "whole numbers up to 9.2e18",
     "write it with an exponent, such as 1e20"},
    {"interpreted", "the number is too large or too small", "numbers up to 1.8e308", ""},
    {"leading zeroes", "a number cannot begin with a zero", "such as 7, 0.7 or 1e3", ""},
    {"floating-point", "a digit is missing", "such as 0.5, -3.0 or 1e6", ""},
    {"end-of-file", "the file ends in the middle of a line", "", "check that the file is complete"},
    {"determine value type", "this is not a value", any_value, ""},
});

/// Whether the text is a number or a flag, which need no quotes.
bool is_plain_value(std::string_view text) {
    if (text == "true" || text == "false") return true;
    if (text.empty() || std::isalpha(static_cast<unsigned char>(text.back())) != 0) return false;
    double number = 0;
    const char* const last = text.data() + text.size();
    return std::from_chars(text.data() + (text[0] == '+' ? 1 : 0), last, number).ptr == last;
}

/// The text without quotes that covers the offset: `4k7` of `{ resistor = 4k7, ...`. Empty if there
/// is none.
std::string_view bare_text(std::string_view line, std::size_t offset) {
    const auto begin = line.substr(0, offset).find_last_of("=[,{");
    if (begin == std::string_view::npos) return {};
    std::string_view text = line.substr(begin + 1);
    text = text.substr(0, text.find_first_of(",]}#"));
    text.remove_prefix(std::min(text.find_first_not_of(" \t"), text.size()));
    text = text.substr(0, text.find_last_not_of(" \t") + 1);
    const bool other = text.find_first_of("\"'={[") != std::string_view::npos;
    return other || is_plain_value(text) ? std::string_view{} : text;
}

bool is_about_a_value(std::string_view complaint) {
    static constexpr auto others = std::to_array<std::string_view>(
        {"table header", "root table", "parsing key:", "expected '='", "expected value,", "string",
         "closing ']'"});
    return std::none_of(std::begin(others), std::end(others), [&](std::string_view other) {
        return complaint.find(other) != std::string_view::npos;
    });
}

void move_to(Position& at, std::string_view line, std::size_t offset) {
    std::string_view before = line.substr(0, offset);
    for (at.column = 1; !before.empty(); ++at.column) take_code_point(before);
}

Diagnostic missing_quotes(std::string_view text, const Position& at) {
    std::string word(text);
    std::transform(word.begin(), word.end(), word.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
    if (word == "true" || word == "false") {
        return error_at(at, "syntax", "", word + " must be written in lower case", "true or false");
    }
    return error_at(at, "syntax", "", quote(text) + " is not in quotes", std::string(any_value),
                    fmt::format("write \"{}\"", text));
}

/// The parser points at the second value of a duplicate key; the message points at its name.
Diagnostic duplicate_key(std::string_view complaint, Position at, std::string_view line) {
    const auto open = complaint.find('\'');
    const auto close = complaint.find('\'', open + 1);
    if (open >= close || close == std::string_view::npos) {
        const std::string_view dotted = line.substr(offset_of(line, at.column));
        const auto name = quote(dotted.substr(0, dotted.find_first_of(" \t.=")));
        return error_at(at, "duplicate-key", "",
                        name + " already has a value, so no key can be added to it", "",
                        "write all its keys in one place");
    }
    const auto name = complaint.substr(open + 1, close - open - 1);
    const auto there = line.substr(0, offset_of(line, at.column)).rfind(name);
    if (there != std::string_view::npos) move_to(at, line, there);
    return error_at(at, "duplicate-key", "", quote(name) + " is defined twice", "",
                    name == "limit" ? "start each limit with [[limit]]"
                                    : "delete one of the two, or rename this one");
}

}  // namespace

Diagnostic explain_syntax(std::string_view complaint, Position at) {
    const std::string_view line = line_of(*at.source, at.line);
    if (complaint.find("redefine") != std::string_view::npos) {
        return duplicate_key(complaint, at, line);
    }
    const auto bare = bare_text(line, offset_of(line, at.column));
    if (!bare.empty() && is_about_a_value(complaint)) {
        move_to(at, line, static_cast<std::size_t>(bare.data() - line.data()));
        return missing_quotes(bare, at);
    }
    const auto fits = [&](const Wording& wording) {
        return complaint.find(wording.complaint) != std::string_view::npos;
    };
    const auto* wording = std::find_if(std::begin(wordings), std::end(wordings), fits);
    if (wording == std::end(wordings)) return error_at(at, "syntax", "", std::string(complaint));
    return error_at(at, "syntax", "", std::string(wording->found), std::string(wording->accepted),
                    std::string(wording->advice));
}

}  // namespace lowhiss
