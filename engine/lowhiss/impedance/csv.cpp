#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <iterator>
#include <utility>

#include "lowhiss/impedance/points.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"

namespace lowhiss::impedance_file {
namespace {

constexpr std::string_view columns = "3 columns: frequency_hz, impedance_ohm, phase_deg";

/// The units that a name in the header may end with, and the column where each is right.
struct Unit {
    std::string_view name;
    std::size_t column;
};
constexpr std::size_t nowhere = 3;
constexpr auto header_units = std::to_array<Unit>({
    {"hz", 0},
    {"khz", nowhere},
    {"mhz", nowhere},
    {"ghz", nowhere},
    {"ohm", 1},
    {"ohms", 1},
    {"kohm", nowhere},
    {"mohm", nowhere},
    {"deg", 2},
    {"degree", 2},
    {"degrees", 2},
    {"rad", nowhere},
    {"radian", nowhere},
    {"radians", nowhere},
});
constexpr auto unit_of_column = std::to_array<std::string_view>({"Hz", "ohm", "degrees"});

/// "phase_deg", "Phase (deg)" and "phase [deg]" all give "deg".
std::string last_word(std::string_view name) {
    const std::string text = lower_case(name);
    const auto last = std::find_if(text.rbegin(), text.rend(), is_letter);
    return {std::find_if_not(last, text.rend(), is_letter).base(), last.base()};
}

/// Names are free, but kilohertz, radians or exchanged columns would be misread silently.
void check_header(const std::vector<Token>& fields, Faults& faults) {
    if (!has_columns(3, fields, columns, faults)) return;
    for (std::size_t column = 0; column < 3; ++column) {
        const std::string word = last_word(fields[column].text);
        const auto unit = std::find_if(std::begin(header_units), std::end(header_units),
                                       [&](const Unit& known) { return known.name == word; });
        if (unit == std::end(header_units) || unit->column == column) continue;
        faults.add(fields[column],
                   fmt::format("column {} is named {}", column + 1, quote(fields[column].text)),
                   fmt::format("{} in this column; {}", unit_of_column[column], columns),
                   "convert or exchange the columns");
    }
}

void read_row(const std::vector<Token>& fields, Points& points, Faults& faults) {
    const auto row = three_numbers(fields, columns, faults);
    if (!row) return;
    const auto [frequency_hz, magnitude_ohm, phase_deg] = *row;
    points.add(fields[0], frequency_hz);
    const auto impedance_ohm = polar(fields[1], magnitude_ohm, phase_deg, faults);
    if (impedance_ohm) points.set_impedance(fields[2], *impedance_ohm);
}

}  // namespace

void read_csv(std::string_view text, Points& points, Faults& faults) {
    TextLines lines(text);
    bool first = true;
    for (auto line = lines.next(); line && !faults.full(); line = lines.next()) {
        const std::string_view content = trimmed(line->text);
        if (content.empty() || content.starts_with('#')) continue;
        if (const auto semicolon = content.find(';'); semicolon < content.size()) {
            faults.add(line->part(content.substr(semicolon)),
                       "the columns are separated by semicolons",
                       "commas between columns and points as decimal marks",
                       "export again with these, or replace decimal commas first, then semicolons");
            return;  // the other lines have the same fault
        }
        const std::vector<Token> fields = cells_of(*line);
        if (std::exchange(first, false) && is_header(fields)) {
            check_header(fields, faults);
        } else {
            read_row(fields, points, faults);
        }
    }
}

}  // namespace lowhiss::impedance_file
