#include "write/table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t terminal_columns = 80;

void widen(std::vector<std::size_t>& widths, const std::vector<std::vector<std::string>>& rows) {
    for (const auto& row : rows) {
        if (row.size() == 1 && widths.size() > 1) continue;  // a section
        widths.resize(std::max(widths.size(), row.size()));
        for (std::size_t k = 0; k < row.size(); ++k) {
            widths[k] = std::max(widths[k], width_of(row[k]));
        }
    }
}

std::string line(const std::vector<std::string>& cells, const std::vector<std::size_t>& widths,
                 std::size_t left) {
    std::string text;
    for (std::size_t k = 0; k < cells.size(); ++k) {
        const std::string blanks(widths[k] - width_of(cells[k]), ' ');
        text += "  " + (k < left ? cells[k] + blanks : blanks + cells[k]);
    }
    text.erase(text.find_last_not_of(' ') + 1);
    return text + "\n";
}

}  // namespace

std::size_t width_of(const std::string& text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char byte) {
        return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
    }));
}

std::string Table::text() const {
    std::vector<std::size_t> widths;
    widen(widths, headings_);
    widen(widths, rows_);
    std::string text;
    for (const auto& cells : headings_) text += line(cells, widths, left_);
    std::vector<std::string> rule;
    rule.reserve(widths.size());
    for (const std::size_t width : widths) rule.emplace_back(width, '-');
    if (!headings_.empty()) text += line(rule, widths, left_);
    for (const auto& cells : rows_) {
        const bool section = cells.size() == 1 && widths.size() > 1;
        text += section ? "  " + cells.front() + "\n" : line(cells, widths, left_);
    }
    return text;
}

std::string title_line(const std::string& text, bool bold) {
    const std::string lines = hanging(text, 2);
    return bold ? "\x1b[1m" + lines.substr(0, lines.size() - 1) + "\x1b[0m\n" : lines;
}

std::string fixed(double value, int decimals) {
    if (!std::isfinite(value)) return "-";
    std::string text = fmt::format("{:.{}f}", value, decimals);
    const bool negative_zero = text.find_first_not_of("-0.") == std::string::npos;
    return negative_zero && text.front() == '-' ? text.substr(1) : text;
}

std::string compact(double value) {
    return std::isfinite(value) ? print_quantity(value, Unit::ratio, 3) : "-";
}

std::string quantity(double value, Unit unit) {
    return std::isfinite(value) ? print_quantity(value, unit, 3) : "-";
}

std::string frequency_text(double hz) {
    return hz > 0 && hz < 1 ? print_quantity(hz, Unit::ratio, 2) + " Hz"
                            : quantity(hz, Unit::hertz);
}

std::string percent(double fraction) {
    return fixed(100 * fraction, 0);
}

std::string cut(const std::string& text, std::size_t columns) {
    if (width_of(text) <= columns) return text;
    std::string kept;
    for (const char byte : text) {
        const bool begins = (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
        if (begins && width_of(kept) + 1 >= columns) break;
        kept += byte;
    }
    return kept + "…";
}

std::string hanging(const std::string& line, std::size_t indent) {
    const std::size_t first = std::min(line.find_first_not_of(' '), line.size());
    std::string text;
    std::string current = line.substr(0, first);
    bool fresh = true;  // the line holds nothing but its indent
    for (std::size_t at = first; at < line.size();) {
        const std::size_t end = std::min(line.find(' ', at), line.size());
        const std::string word = line.substr(at, end - at);
        if (!fresh && width_of(current) + 1 + width_of(word) > terminal_columns) {
            text += current + "\n";
            current = std::string(indent, ' ');
            fresh = true;
        }
        current += (fresh ? "" : " ") + word;
        fresh = false;
        at = end + 1;
    }
    return text + current + "\n";
}

std::string wrapped_list(const std::string& intro, const std::vector<std::string>& items) {
    std::string text;
    std::string line = "  " + intro + ":";
    for (std::size_t k = 0; k < items.size(); ++k) {
        const std::string item = " " + items[k] + (k + 1 < items.size() ? "," : "");
        if (width_of(line) + width_of(item) > terminal_columns) {
            text += line + "\n";
            line = "   ";
        }
        line += item;
    }
    return text + line + "\n";
}

}  // namespace lowhiss::cli
