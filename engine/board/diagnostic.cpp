#include "lowhiss/board/diagnostic.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace lowhiss {
namespace {

constexpr std::size_t longest_excerpt = 200;

std::string_view line_of(const Source& source, int line) {
    std::string_view rest = source.text;
    if (rest.starts_with("\xEF\xBB\xBF")) rest.remove_prefix(3);
    for (int skipped = 1; skipped < line; ++skipped) {
        const auto end = rest.find('\n');
        if (end == std::string_view::npos) return {};
        rest.remove_prefix(end + 1);
    }
    rest = rest.substr(0, rest.find('\n'));
    if (rest.ends_with('\r')) rest.remove_suffix(1);
    return rest;
}

bool continues_code_point(char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U; }

bool is_control(char byte) {
    return (static_cast<unsigned char>(byte) < 0x20U && byte != '\t') || byte == '\x7F';
}

/// The line without control characters, which could drive a terminal.
std::string printable(std::string_view line) {
    std::string text(line);
    std::replace_if(text.begin(), text.end(), is_control, '?');
    return text;
}

/// The column's start, as an offset in bytes.
std::size_t offset_of(std::string_view line, int column) {
    std::size_t offset = 0;
    for (int passed = 1; passed < column && offset < line.size(); ++passed) {
        ++offset;
        while (offset < line.size() && continues_code_point(line[offset])) ++offset;
    }
    return offset;
}

/// Blanks as wide as the text; tabs stay tabs so that the caret stands where the terminal put it.
std::string blanks_like(std::string_view text) {
    std::string blanks;
    for (const char byte : text) {
        if (byte == '\t') blanks += '\t';
        else if (!continues_code_point(byte)) blanks += ' ';
    }
    return blanks;
}

std::string excerpt(const Position& at) {
    const std::string line = printable(line_of(*at.source, at.line));
    std::size_t caret = offset_of(line, at.column);
    std::size_t first = caret > longest_excerpt / 2 ? caret - longest_excerpt / 2 : 0;
    while (first > 0 && continues_code_point(line[first])) --first;
    std::size_t last = std::min(first + longest_excerpt, line.size());
    while (last < line.size() && continues_code_point(line[last])) ++last;
    const std::string_view shown = std::string_view(line).substr(first, last - first);
    return fmt::format("{:>5} | {}\n      | {}^\n", at.line, shown,
                       blanks_like(shown.substr(0, caret - first)));
}

std::string location(const Position& at) {
    if (!at.source) return "";
    if (at.line == 0) return at.source->path + ": ";
    return fmt::format("{}:{}:{}: ", at.source->path, at.line, at.column);
}

}  // namespace

bool has_errors(const Diagnostics& diagnostics) {
    return std::any_of(diagnostics.begin(), diagnostics.end(),
                       [](const Diagnostic& d) { return d.severity == Severity::error; });
}

std::string to_text(const Diagnostic& d) {
    std::string text = location(d.at);
    text += d.severity == Severity::error ? "error: " : "warning: ";
    if (!d.subject.empty()) text += printable(d.subject) + ": ";
    text += fmt::format("{} [{}]\n", printable(d.found), d.code);
    if (d.at.source && d.at.line > 0) text += excerpt(d.at);
    if (!d.accepted.empty()) text += fmt::format("      = accepted: {}\n", printable(d.accepted));
    if (!d.advice.empty()) text += fmt::format("      = advice: {}\n", printable(d.advice));
    return text;
}

Error::Error(Kind kind, Diagnostics diagnostics)
    : std::runtime_error(diagnostics.empty() ? "lowhiss error" : diagnostics.front().found),
      kind_(kind),
      diagnostics_(std::move(diagnostics)) {}

}  // namespace lowhiss
