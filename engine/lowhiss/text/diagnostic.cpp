#include "lowhiss/text/diagnostic.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

#include "lowhiss/text/source_line.hpp"
#include "lowhiss/text/utf8.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t longest_subject = 80;
constexpr int columns_before = 150;
constexpr int columns_shown = 200;

/// A text of a message, cut if it is too long to read.
std::string shortened(std::string_view text, std::size_t longest = 1000) {
    std::string shown = printable(text.substr(0, longest));
    std::replace(shown.begin(), shown.end(), '\t', ' ');
    return text.size() > longest ? shown + "…" : shown;
}

/// Blanks as wide as the text; tabs stay tabs, so that the caret lines up in any terminal.
std::string blanks_like(std::string_view text) {
    std::string blanks;
    while (!text.empty()) blanks += take_code_point(text) == '\t' ? '\t' : ' ';
    return blanks;
}

/// The line, or the part of a long line around the caret.
std::string excerpt(const Position& at) {
    const std::string_view line = line_of(*at.source, at.line);
    const int first = std::max(1, at.column - columns_before);
    const std::size_t begin = offset_of(line, first);
    const std::size_t caret = offset_of(line, at.column);
    const std::size_t end = offset_of(line, first + columns_shown);
    const std::string_view cut = begin > 0 ? "…" : "";
    return fmt::format("{:>5} | {}{}{}\n      | {}{}^\n", at.line, cut,
                       printable(line.substr(begin, end - begin)), end < line.size() ? "…" : "",
                       blanks_like(cut), blanks_like(line.substr(begin, caret - begin)));
}

std::string location(const Position& at) {
    if (!at.source) return "";
    const std::string path = shortened(at.source->path);
    return at.line == 0 ? path + ": " : fmt::format("{}:{}:{}: ", path, at.line, at.column);
}

}  // namespace

bool has_errors(const Diagnostics& diagnostics) {
    return std::any_of(diagnostics.begin(), diagnostics.end(),
                       [](const Diagnostic& d) { return d.severity == Severity::error; });
}

std::string to_text(const Diagnostic& d) {
    std::string text = location(d.at);
    text += d.severity == Severity::error ? "error: " : "warning: ";
    if (!d.subject.empty()) text += shortened(d.subject, longest_subject) + ": ";
    text += fmt::format("{} [{}]\n", shortened(d.found), d.code);
    if (d.at.source && d.at.line > 0) text += excerpt(d.at);
    if (!d.accepted.empty()) text += fmt::format("      = accepted: {}\n", shortened(d.accepted));
    if (!d.advice.empty()) text += fmt::format("      = advice: {}\n", shortened(d.advice));
    return text;
}

Error::Error(Kind kind, Diagnostics diagnostics)
    : std::runtime_error(diagnostics.empty() ? "lowhiss error" : diagnostics.front().found),
      kind_(kind),
      diagnostics_(std::move(diagnostics)) {}

}  // namespace lowhiss
