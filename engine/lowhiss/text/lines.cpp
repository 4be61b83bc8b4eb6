#include "lowhiss/text/lines.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"

namespace lowhiss {
namespace {

bool starts_code_point(char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
}

int column_of(const Token& field) {
    const auto before =
        field.line.substr(0, static_cast<std::size_t>(field.text.data() - field.line.data()));
    return 1 + static_cast<int>(std::count_if(before.begin(), before.end(), starts_code_point));
}

/// std::from_chars accepts no plus sign, but instruments write one.
std::string_view without_plus(std::string_view text) {
    return text.starts_with('+') && !text.starts_with("+-") ? text.substr(1) : text;
}

std::size_t comma_outside_quotes(std::string_view text) {
    bool inside = false;
    const auto comma = std::find_if(text.begin(), text.end(), [&](char c) {
        if (c == '"') inside = !inside;
        return c == ',' && !inside;
    });
    return static_cast<std::size_t>(comma - text.begin());
}

std::string_view without_quotes(std::string_view text) {
    const bool both = text.size() > 1 && text.front() == '"' && text.back() == '"';
    return both ? trimmed(text.substr(1, text.size() - 2)) : text;
}

}  // namespace

TextLines::TextLines(std::string_view text) : rest_(text) {
    if (rest_.starts_with("\xEF\xBB\xBF")) rest_.remove_prefix(3);
}

std::optional<Token> TextLines::next() {
    if (rest_.empty()) return std::nullopt;
    const auto end = std::min(rest_.find('\n'), rest_.size());
    std::string_view line = rest_.substr(0, end);
    rest_.remove_prefix(std::min(end + 1, rest_.size()));
    if (line.ends_with('\r')) line.remove_suffix(1);
    return Token{line, line, ++line_number_};
}

Faults::Faults(std::shared_ptr<const Source> file, std::string code, Diagnostics& out)
    : file_(std::move(file)), code_(std::move(code)), out_(out) {}

void Faults::add(const Token& at, std::string found, std::string accepted, std::string advice) {
    add({file_, at.line_number, column_of(at)}, std::move(found), std::move(accepted),
        std::move(advice));
}

void Faults::add_for_file(std::string found, std::string accepted, std::string advice) {
    add({file_, 0, 0}, std::move(found), std::move(accepted), std::move(advice));
}

void Faults::add(Position at, std::string found, std::string accepted, std::string advice) {
    if (full()) return;
    ++count_;
    out_.push_back({Severity::error, code_, std::move(at), "", std::move(found),
                    std::move(accepted), std::move(advice)});
}

std::vector<Token> cells_of(const Token& line) {
    std::vector<Token> fields;
    std::string_view rest = line.text;
    for (;;) {
        const auto comma = comma_outside_quotes(rest);
        fields.push_back(line.part(without_quotes(trimmed(rest.substr(0, comma)))));
        if (comma == rest.size()) return fields;
        rest.remove_prefix(comma + 1);
    }
}

bool begins_like_a_number(std::string_view text) {
    text = without_plus(text);
    double value = 0;
    return std::from_chars(text.data(), text.data() + text.size(), value).ec !=
           std::errc::invalid_argument;
}

bool is_header(const std::vector<Token>& fields) {
    return std::none_of(fields.begin(), fields.end(),
                        [](const Token& field) { return begins_like_a_number(field.text); });
}

std::optional<double> read_number(const Token& field, Faults& faults) {
    static constexpr auto accepted = "a decimal number, such as 1250, -0.5 or 1.25e3";
    const std::string_view text = without_plus(field.text);
    const char* const last = text.data() + text.size();
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), last, value);
    if (text.empty()) {
        faults.add(field, "a number is missing", accepted);
    } else if (error == std::errc::invalid_argument || end != last) {
        faults.add(field, fmt::format("{} is not a number", quote(field.text)), accepted,
                   text.find(',') < text.size() ? "write the decimal mark as a point" : "");
    } else if (error == std::errc::result_out_of_range || !std::isfinite(value)) {
        faults.add(field, fmt::format("{} is not a finite number", quote(field.text)), accepted);
    } else {
        return value;
    }
    return std::nullopt;
}

bool has_columns(std::size_t count, const std::vector<Token>& cells, std::string_view accepted,
                 Faults& faults) {
    if (cells.size() == count) return true;
    faults.add(cells.size() > count ? cells[count] : cells.back(),
               fmt::format("the line has {} column{}", cells.size(), cells.size() > 1 ? "s" : ""),
               std::string(accepted));
    return false;
}

}  // namespace lowhiss
