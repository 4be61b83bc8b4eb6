#include "lowhiss/board/mask_file.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

/// A finite decimal, or unset where the field is empty; nothing where it is neither.
std::optional<double> number(std::string_view field) {
    if (field.empty()) return unset;
    if (field.front() == '+') field.remove_prefix(1);
    double value = 0;
    const auto [end, error] = std::from_chars(field.data(), field.data() + field.size(), value);
    if (error != std::errc{} || end != field.data() + field.size()) return std::nullopt;
    return std::isfinite(value) ? std::optional(value) : std::nullopt;
}

std::vector<std::string_view> fields_of(std::string_view line) {
    std::vector<std::string_view> fields;
    for (;;) {
        const auto comma = line.find(',');
        fields.push_back(trimmed(line.substr(0, comma)));
        if (comma == std::string_view::npos) return fields;
        line.remove_prefix(comma + 1);
    }
}

bool is_heading(const std::vector<std::string_view>& fields) {
    return !fields.front().empty() && !number(fields.front());
}

}  // namespace

std::vector<MaskPoint> read_mask_file(const std::shared_ptr<const Source>& file, Diagnostics& out) {
    const std::string accepted = "frequency_hz, min, max; an empty field is no bound";
    std::vector<MaskPoint> points;
    std::string_view rest = file->text;
    if (rest.starts_with("\xEF\xBB\xBF")) rest.remove_prefix(3);
    bool first = true;
    for (int line_number = 1; !rest.empty(); ++line_number) {
        const auto end = rest.find('\n');
        const std::string_view line = trimmed(rest.substr(0, end));
        rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
        if (line.empty() || line.front() == '#') continue;
        const auto fields = fields_of(line);
        if (std::exchange(first, false) && is_heading(fields)) continue;
        std::array<std::optional<double>, 3> values;
        for (std::size_t k = 0; k < 3 && k < fields.size(); ++k) values[k] = number(fields[k]);
        const bool sound =
            fields.size() == 3 && values[0] && values[1] && values[2] && *values[0] > 0;
        if (sound) {
            points.push_back({*values[0], *values[1], *values[2]});
        } else {
            out.push_back(error_at({file, line_number, 1}, "bad-mask", "",
                                   fmt::format("{} is no point of a mask", quote(line)), accepted));
            if (out.size() > 10) return points;
        }
    }
    return points;
}

}  // namespace lowhiss
