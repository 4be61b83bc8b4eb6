#include "shell/names.hpp"

#include <fmt/format.h>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/text/utf8.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";  // U+FFFD

/// Whether XML allows the character and it is visible.
bool is_xml(char32_t c) {
    return c == '\t' || c == '\n' || c == '\r' || !is_invisible(c);
}

/// Replaces the markup of XML and HTML by entities.
std::string without_markup(std::string_view text) {
    std::string result;
    for (const char c : text) {
        switch (c) {
            case '&':
                result += "&amp;";
                break;
            case '<':
                result += "&lt;";
                break;
            case '>':
                result += "&gt;";
                break;
            case '"':
                result += "&quot;";
                break;
            case '\'':
                result += "&#39;";
                break;
            default:
                result += c;
        }
    }
    return result;
}

bool is_plain(char c) {
    return is_letter(c) || is_digit(c) ||
           std::string_view(" .,:;-+()").find(c) != std::string_view::npos;
}

bool begins_formula(std::string_view text) {
    return !text.empty() &&
           std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos;
}

/// Whether the character stands between two letters or digits.
bool is_within_a_word(std::string_view text, std::size_t at) {
    const auto is_word = [&](std::size_t k) {
        return k < text.size() && (is_letter(text[k]) || is_digit(text[k]));
    };
    return at > 0 && is_word(at - 1) && is_word(at + 1);
}

}  // namespace

std::string for_terminal(std::string_view text) {
    std::string shown = printable(text);
    for (char& c : shown) c = c == '\t' ? ' ' : c;
    return shown;
}

std::string lines_for_terminal(std::string_view text) {
    std::string shown;
    while (!text.empty()) {
        const auto end = text.find('\n');
        shown += printable(text.substr(0, end));
        if (end == std::string_view::npos) break;
        shown += '\n';
        text.remove_prefix(end + 1);
    }
    return shown;
}

std::string for_xml(std::string_view text) {
    std::string result;
    while (!text.empty()) {
        const std::string_view before = text;
        const char32_t c = take_code_point(text);
        const bool good = c != invalid_code_point && is_xml(c);
        result += good ? before.substr(0, before.size() - text.size()) : replacement;
    }
    return result;
}

std::string for_html(std::string_view text) {
    return without_markup(for_xml(text));
}

std::string for_csv(std::string_view text) {
    std::string cell = (begins_formula(text) ? "'" : "") + for_xml(text);
    if (cell.find_first_of(",\"\r\n") == std::string::npos) return cell;
    std::string quoted = "\"";
    for (const char letter : cell) {
        if (letter == '"') quoted += '"';
        quoted += letter;
    }
    return quoted + "\"";
}

std::string for_gnuplot(std::string_view text) {
    std::string result = "\"";
    bool after_code = false;  // gnuplot takes any digits that follow as digits of the code
    for (const char c : printable(text)) {
        const auto byte = static_cast<unsigned char>(c);
        after_code = byte < 0x80 && (!is_plain(c) || (is_digit(c) && after_code));
        result += after_code ? fmt::format("\\{:03o}", byte) : std::string(1, c);
    }
    return result + "\"";
}

std::string for_markdown(std::string_view text) {
    constexpr std::string_view marks = "\\`*_{}[]<>#|&~!@$^=\"'";
    std::string cell;
    for (std::size_t k = 0; k < text.size();) {
        std::string_view rest = text.substr(k);
        const char32_t c = take_code_point(rest);
        const std::string_view letter = text.substr(k, text.size() - k - rest.size());
        const bool mark = c < 0x80 && marks.find(static_cast<char>(c)) != std::string_view::npos &&
                          !(c == '_' && is_within_a_word(text, k));
        if (mark)
            cell += fmt::format("&#{};", static_cast<unsigned>(c));
        else if (c == invalid_code_point || is_invisible(c))
            cell += c == '\n' || c == '\t' ? " " : replacement;
        else
            cell += letter;
        k += letter.size();
    }
    return cell;
}

std::string for_graphviz_label(std::string_view text) {
    return without_markup(printable(text));
}

std::string for_graphviz(std::string_view text) {
    std::string result;
    for (const char c : for_graphviz_label(text)) {
        if (c == '\\') result += '\\';
        result += c;
    }
    return result;
}

}  // namespace lowhiss::cli
