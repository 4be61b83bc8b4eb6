#include "lowhiss/impedance/impedance_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>
#include <utility>

#include "lowhiss/quantity/quote.hpp"

namespace lowhiss::impedance_file {
namespace {

bool starts_code_point(char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
}

int column_of(const Token& field) {
    const auto before =
        field.line.substr(0, static_cast<std::size_t>(field.text.data() - field.line.data()));
    return 1 + static_cast<int>(std::count_if(before.begin(), before.end(), starts_code_point));
}

/// std::from_chars takes no plus sign, instruments write one.
std::string_view without_plus(std::string_view text) {
    return text.starts_with('+') && !text.starts_with("+-") ? text.substr(1) : text;
}

}  // namespace

Lines::Lines(std::string_view text) : rest_(text) {
    if (rest_.starts_with("\xEF\xBB\xBF")) rest_.remove_prefix(3);
}

std::optional<Token> Lines::next() {
    if (rest_.empty()) return std::nullopt;
    const auto end = std::min(rest_.find('\n'), rest_.size());
    std::string_view line = rest_.substr(0, end);
    rest_.remove_prefix(std::min(end + 1, rest_.size()));
    if (line.ends_with('\r')) line.remove_suffix(1);
    return Token{line, line, ++line_number_};
}

Faults::Faults(std::shared_ptr<const Source> file, Diagnostics& out)
    : file_(std::move(file)), out_(out) {}

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
    out_.push_back({Severity::error, "impedance-file", std::move(at), "", std::move(found),
                    std::move(accepted), std::move(advice)});
}

std::string_view trimmed(std::string_view text) {
    const auto first = std::min(text.find_first_not_of(" \t"), text.size());
    return text.substr(first, text.find_last_not_of(" \t") + 1 - first);
}

std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result) {
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    }
    return result;
}

bool begins_like_a_number(std::string_view text) {
    text = without_plus(text);
    double value = 0;
    return std::from_chars(text.data(), text.data() + text.size(), value).ec !=
           std::errc::invalid_argument;
}

std::optional<double> number(const Token& field, Faults& faults) {
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

bool has_three(std::span<const Token> fields, std::string_view accepted, Faults& faults) {
    if (fields.size() == 3) return true;
    faults.add(fields.size() > 3 ? fields[3] : fields.back(),
               fmt::format("the line has {} column{}", fields.size(), fields.size() > 1 ? "s" : ""),
               std::string(accepted));
    return false;
}

std::optional<std::array<double, 3>> three_numbers(std::span<const Token> fields,
                                                   std::string_view accepted, Faults& faults) {
    if (!has_three(fields, accepted, faults)) return std::nullopt;
    const auto first = number(fields[0], faults);
    const auto second = number(fields[1], faults);
    const auto third = number(fields[2], faults);
    if (!first || !second || !third) return std::nullopt;
    return std::array{*first, *second, *third};
}

std::optional<std::complex<double>> polar(const Token& field, double magnitude, double angle_deg,
                                          Faults& faults) {
    if (magnitude >= 0) {
        return std::polar(magnitude, std::remainder(angle_deg, 360.0) * std::numbers::pi / 180);
    }
    faults.add(field, fmt::format("the magnitude {} is negative", quote(field.text)),
               "a magnitude of zero or more, the sign being in the angle");
    return std::nullopt;
}

}  // namespace lowhiss::impedance_file
