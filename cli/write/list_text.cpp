#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/list_report.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t list_columns = 80;
constexpr std::size_t least_source_columns = 8;

/// One column of a list under its headings.
struct ListColumn {
    std::vector<std::string> headings;  ///< from top to bottom, the unit last
    std::vector<std::string> cells;
};

/// The unit of a column that has one, as data sheets write it; cells of others have their own.
std::string unit_heading(Unit unit) {
    if (unit == Unit::volt_per_root_hertz) return "nV/√Hz";
    if (unit == Unit::ampere_per_root_hertz) return "pA/√Hz";
    if (unit == Unit::ratio) return "dB";
    return "";
}

/// Three digits or more, without an exponent from 1e-4 to a million.
std::string three_digits(double value) {
    return value < 1e3 || value >= 1e6 ? fmt::format("{:.3g}", value) : fixed(value, 0);
}

std::string cell_of(double value, Unit unit) {
    if (std::isnan(value)) return "-";
    if (std::isinf(value)) return "ideal";
    if (unit == Unit::volt_per_root_hertz) return three_digits(value * 1e9);
    if (unit == Unit::ampere_per_root_hertz) return three_digits(value * 1e12);
    if (unit == Unit::ratio) return fixed(20 * std::log10(value), 0);
    return quantity(value, unit);
}

std::vector<std::string> words_of_key(std::string_view key) {
    std::vector<std::string> words{""};
    for (const char letter : key) {
        if (letter == '_')
            words.emplace_back();
        else
            words.back() += letter;
    }
    return words;
}

/// The first of the keys that the model's table takes, or null.
const ModelFigure* figure_in(const LibraryModel& model, const std::vector<std::string_view>& keys) {
    for (const std::string_view key : keys) {
        if (const ModelFigure* figure = find_figure(model, key)) return figure;
    }
    return nullptr;
}

ListColumn column_of(const ListedKind& kind, const std::vector<std::string_view>& keys) {
    ListColumn column{words_of_key(keys.front()), {}};
    std::string unit;
    for (const ListedModel& listed : kind.models) {
        const ModelFigure* figure = figure_in(listed.model, keys);
        if (figure) unit = unit_heading(figure->unit);
        column.cells.push_back(figure ? cell_of(figure->value, figure->unit) : "-");
    }
    column.headings.push_back(unit);
    return column;
}

ListColumn noise_column(const ListedKind& kind, const ModelUse& use) {
    ListColumn column{{"with", print_quantity(use.source_ohm, Unit::ohm, 3),
                       unit_heading(Unit::volt_per_root_hertz)},
                      {}};
    for (const ListedModel& listed : kind.models) {
        column.cells.push_back(cell_of(listed.noise_v_rthz, Unit::volt_per_root_hertz));
    }
    return column;
}

std::size_t width_of_column(const ListColumn& column) {
    std::size_t width = 0;
    for (const std::string& text : column.headings) width = std::max(width, width_of(text));
    for (const std::string& text : column.cells) width = std::max(width, width_of(text));
    return width;
}

/// Aligned left in a table that aligns figures right: every cell is of the same width.
std::string padded(const std::string& text, std::size_t width) {
    const std::string shown = cut(text, width);
    return shown + std::string(width - std::min(width, width_of(shown)), ' ');
}

ListColumn source_column(const ListedKind& kind, std::size_t width) {
    ListColumn column{{padded("source", width)}, {}};
    for (const ListedModel& listed : kind.models) {
        column.cells.push_back(padded(listed.model.source, width));
    }
    return column;
}

std::string table_of(const ListedKind& kind, const std::optional<ModelUse>& use) {
    std::vector<ListColumn> columns(1);
    ListColumn word;
    for (const ListedModel& listed : kind.models) {
        columns.front().cells.push_back(listed.model.name);
        word.cells.push_back(listed.model.word);
    }
    if (width_of_column(word) > 0) columns.push_back(word);
    const std::size_t left = columns.size();
    for (const auto& keys : kind.columns) columns.push_back(column_of(kind, keys));
    if (use && kind.with_noise) columns.push_back(noise_column(kind, *use));
    std::size_t taken = 2;
    for (const ListColumn& column : columns) taken += 2 + width_of_column(column);
    if (taken + least_source_columns <= list_columns) {
        columns.push_back(source_column(kind, list_columns - taken));
    }
    std::size_t height = 0;
    for (const ListColumn& column : columns) height = std::max(height, column.headings.size());
    Table table(left);
    const auto across = [&](auto cell_in) {
        std::vector<std::string> cells;
        cells.reserve(columns.size());
        for (const ListColumn& column : columns) cells.push_back(cell_in(column));
        return cells;
    };
    for (std::size_t k = height; k-- > 0;) {
        table.heading(across([&](const ListColumn& column) {
            const std::size_t count = column.headings.size();
            return k < count ? column.headings[count - 1 - k] : std::string();
        }));
    }
    for (std::size_t k = 0; k < kind.models.size(); ++k) {
        table.row(across([&](const ListColumn& column) { return column.cells[k]; }));
    }
    return table.text();
}

std::string intro_of(const ModelUse& use) {
    return hanging(
        fmt::format(
            "Noise at 1 kHz and {} of the model and a source of {}, quietest first. The "
            "source alone has {}; feedback and bias resistors add more, which sweep computes.",
            print_quantity(use.temperature_k, Unit::kelvin, 3),
            print_quantity(use.source_ohm, Unit::ohm, 3),
            print_quantity(thermal_noise_v_rthz(use.source_ohm, use.temperature_k),
                           Unit::volt_per_root_hertz, 3)),
        0);
}

}  // namespace

std::string list_text(const ModelList& list, bool bold) {
    std::string text;
    if (list.use) text += intro_of(*list.use) + "\n";
    for (const ListedKind& kind : list.kinds) {
        if (kind.models.empty()) continue;
        std::string title = kind.title;
        if (list.use && !kind.where_noise.empty()) title += " " + kind.where_noise;
        title += fmt::format(": include = [\"{}\"]", kind.models.front().model.library);
        text += title_line(title, bold) + table_of(kind, list.use) + "\n";
    }
    for (const std::string& note : list.notes) text += hanging(note, 0);
    return text;
}

}  // namespace lowhiss::cli
