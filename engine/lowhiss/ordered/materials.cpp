#include "lowhiss/ordered/materials.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>
#include <span>
#include <string_view>
#include <utility>

#include "lowhiss/ordered/csv_table.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t longest_range = 500;

constexpr auto designator_names = std::to_array<std::string_view>(
    {"designator", "designators", "reference", "references", "ref", "refs", "refdes",
     "referencedesignator", "referencedesignators", "partreference", "parts", "part", "bauteil",
     "bauteile", "referenz"});
constexpr auto value_names = std::to_array<std::string_view>(
    {"value", "values", "val", "wert", "valeur", "valor", "comment"});
constexpr auto usual_marks = std::to_array<std::string_view>(
    {"dnp", "dnf", "dni", "dns", "nf", "not fitted", "do not fit", "no pop", "unfitted"});

/// A heading by its letters alone: "Reference(s)" is "references".
std::string letters_of(std::string_view text) {
    std::string letters;
    for (const char c : text) {
        if (is_letter(c)) letters += lower_case(c);
    }
    return letters;
}

std::optional<std::size_t> column_by_name(const std::vector<CsvCell>& header,
                                          std::span<const std::string_view> names) {
    for (const std::string_view name : names) {
        for (std::size_t k = 0; k < header.size(); ++k) {
            if (letters_of(header[k].text) == name) return k;
        }
    }
    return std::nullopt;
}

std::vector<std::string> headings(const std::vector<CsvCell>& header) {
    std::vector<std::string> names;
    names.reserve(header.size());
    for (const CsvCell& cell : header) names.push_back(cell.text);
    return names;
}

class MaterialsReader {
  public:
    MaterialsReader(const CsvTable& table, const MaterialsOptions& options, Diagnostics& out)
        : table_(table), options_(options), out_(out) {}

    std::optional<Materials> read(const std::string& path) {
        const std::size_t header = header_row();
        const std::vector<CsvCell>& names = table_.rows[header];
        const auto designators = column(names, options_.designator_column, designator_names,
                                        "designator", "the designators");
        const auto values =
            column(names, options_.value_column, value_names, "value", "the values");
        if (!designators || !values) return {};
        materials_.path = path;
        for (std::size_t row = header + 1; row < table_.rows.size(); ++row) {
            read_row(table_.rows[row], *designators, *values);
        }
        if (materials_.items.empty()) {
            out_.push_back(error_at(
                {names.front().at.source, 0, 0}, "bad-materials", "", "no row has a designator",
                "designators such as R1 in the column " + quote(names[*designators].text)));
            return {};
        }
        const char* separator = table_.separator == '\t'  ? "tabs"
                                : table_.separator == ';' ? "semicolons"
                                                          : "commas";
        materials_.notes.push_back(
            fmt::format("{}: designators from the column {}, values from {}; {}, separated by {}",
                        path, quote(names[*designators].text), quote(names[*values].text),
                        table_.encoding, separator));
        if (!marks_.empty()) {
            materials_.notes.push_back(fmt::format(
                "{}: rows with {} are taken as fitted; say --unfitted {} if they are not", path,
                listed(std::vector<std::string>(marks_.begin(), marks_.end())),
                quote(*marks_.begin())));
        }
        return std::move(materials_);
    }

  private:
    /// Some writers put a title above the header.
    std::size_t header_row() const {
        constexpr std::size_t most_titles = 20;
        for (std::size_t row = 0; row < std::min(most_titles, table_.rows.size()); ++row) {
            const auto& cells = table_.rows[row];
            const bool named = options_.designator_column.empty()
                                   ? column_by_name(cells, designator_names).has_value()
                                   : named_column(cells, options_.designator_column).has_value();
            if (named) return row;
        }
        return 0;
    }

    static std::optional<std::size_t> named_column(const std::vector<CsvCell>& header,
                                                   const std::string& name) {
        for (std::size_t k = 0; k < header.size(); ++k) {
            if (header[k].text == name) return k;
        }
        return std::nullopt;
    }

    std::optional<std::size_t> column(const std::vector<CsvCell>& header, const std::string& name,
                                      std::span<const std::string_view> guesses, const char* key,
                                      const char* what) {
        const auto found =
            name.empty() ? column_by_name(header, guesses) : named_column(header, name);
        if (found) return found;
        const std::vector<std::string> known = headings(header);
        out_.push_back(
            error_at({header.front().at.source, header.front().at.line, 0}, "bad-materials", "",
                     name.empty() ? fmt::format("it is not clear which column has {}", what)
                                  : fmt::format("there is no column {}", quote(name)),
                     listed(known),
                     name.empty() ? fmt::format("name it: --columns {}=NAME", key)
                                  : did_you_mean(name, known)));
        return std::nullopt;
    }

    void read_row(const std::vector<CsvCell>& row, std::size_t designators, std::size_t values) {
        if (designators >= row.size()) return;
        bool fitted = true;
        for (const CsvCell& cell : row) {
            const std::string text = lower_case(cell.text);
            const auto is_text = [&](std::string_view mark) { return lower_case(mark) == text; };
            const auto& unfitted = options_.unfitted;
            if (std::any_of(unfitted.begin(), unfitted.end(), is_text))
                fitted = false;
            else if (std::any_of(std::begin(usual_marks), std::end(usual_marks), is_text))
                marks_.insert(cell.text);
        }
        const std::string value = values < row.size() ? row[values].text : "";
        for (std::string& device : designators_in(row[designators].text)) {
            materials_.items.push_back({std::move(device), value, fitted, row[designators].at});
        }
    }

    const CsvTable& table_;
    const MaterialsOptions& options_;
    Diagnostics& out_;
    Materials materials_;
    std::set<std::string> marks_;
};

/// A designator in two: "R" and 12.
struct Numbered {
    std::string prefix;
    unsigned long number;
};
std::optional<Numbered> numbered(std::string_view text) {
    const auto first = std::find_if(text.begin(), text.end(), is_digit);
    const std::string_view number = text.substr(static_cast<std::size_t>(first - text.begin()));
    if (number.empty() || number.size() > 6 ||
        !std::all_of(number.begin(), number.end(), is_digit)) {
        return std::nullopt;
    }
    return Numbered{std::string(text.begin(), first), std::stoul(std::string(number))};
}

void replace_all(std::string& text, std::string_view from, std::string_view to) {
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size())) {
        text.replace(at, from.size(), to);
    }
}

/// "R4-R7" and "R4-7" in full; any other text as it is.
void add_designators(const std::string& token, std::vector<std::string>& list) {
    const auto dash = token.find('-');
    const auto first = numbered(std::string_view(token).substr(0, std::min(dash, token.size())));
    const auto last = dash == std::string::npos
                          ? std::nullopt
                          : numbered(std::string_view(token).substr(dash + 1));
    const bool range = first && last && !first->prefix.empty() &&
                       (last->prefix.empty() || last->prefix == first->prefix) &&
                       last->number >= first->number &&
                       last->number - first->number < longest_range;
    if (!range) {
        list.push_back(token);
        return;
    }
    for (auto n = first->number; n <= last->number; ++n) {
        list.push_back(first->prefix + std::to_string(n));
    }
}

std::vector<std::string> tokens_of(std::string_view text, std::string_view separators) {
    std::vector<std::string> tokens;
    while (!text.empty()) {
        const auto end = std::min(text.find_first_of(separators), text.size());
        if (end > 0) tokens.emplace_back(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return tokens;
}

std::optional<double> quantity_in(const std::string& text, Unit unit) {
    const auto parsed = parse_quantity(text, unit);
    const double* value = std::get_if<double>(&parsed);
    return value ? std::optional(*value) : std::nullopt;
}

bool is_plain_number(const std::string& token) {
    return token.find_first_not_of("0123456789.") == std::string::npos;
}

bool has_digit(const std::string& token) {
    return std::any_of(token.begin(), token.end(), is_digit);
}

/// Takes every "1%" and "1 %" out of the tokens; the first is the tolerance.
void take_tolerance(std::vector<std::string>& tokens, ListedValue& into) {
    std::vector<std::string> others;
    for (std::size_t k = 0; k < tokens.size(); ++k) {
        const bool apart = k + 1 < tokens.size() && tokens[k + 1] == "%";
        if (!apart && !tokens[k].ends_with('%')) {
            others.push_back(tokens[k]);
            continue;
        }
        const auto tolerance = quantity_in(tokens[k] + (apart ? "%" : ""), Unit::fraction);
        if (tolerance && !into.tolerance) into.tolerance = *tolerance;
        if (apart) ++k;
    }
    tokens = std::move(others);
}

/// Commas between digits as points.
std::string with_points(std::string_view text) {
    std::string plain(text);
    for (std::size_t k = 1; k + 1 < plain.size(); ++k) {
        if (plain[k] == ',' && is_digit(plain[k - 1]) && is_digit(plain[k + 1])) plain[k] = '.';
    }
    return plain;
}

}  // namespace

std::vector<std::string> designators_in(std::string_view cell) {
    std::string text(cell);
    replace_all(text, "\u2013", "-");
    replace_all(text, "..", "-");
    for (const char* wide : {" - ", " -", "- "}) replace_all(text, wide, "-");
    std::vector<std::string> list;
    for (const std::string& token : tokens_of(text, ",; \t\r\n")) add_designators(token, list);
    return list;
}

std::optional<ListedValue> listed_value(std::string_view text, Unit unit) {
    if (text.size() > 200) return std::nullopt;
    std::string plain = with_points(text);
    for (const char* sign : {"+/-", "\u00B1"}) replace_all(plain, sign, " ");
    for (const char* spelling : {"Ohms", "ohms", "OHMS", "Ohm", "OHM"}) {
        replace_all(plain, spelling, "ohm");
    }
    std::vector<std::string> tokens = tokens_of(plain, " \t\r\n/|;,_()");
    ListedValue found{0, std::nullopt};
    take_tolerance(tokens, found);
    std::optional<double> value;
    // A number with its unit in one word comes first, then one with the unit in the next word.
    for (const std::string& token : tokens) {
        if (!value && !is_plain_number(token)) value = quantity_in(token, unit);
    }
    for (std::size_t k = 0; !value && k + 1 < tokens.size(); ++k) {
        if (is_plain_number(tokens[k]) && !has_digit(tokens[k + 1])) {
            value = quantity_in(tokens[k] + tokens[k + 1], unit);
        }
    }
    // A number alone may be a size or a code; of a resistor it is ohms if no word says otherwise.
    const bool only_numbers = std::all_of(tokens.begin(), tokens.end(), is_plain_number);
    if (!value && unit == Unit::ohm && !tokens.empty() && only_numbers) {
        value = quantity_in(tokens.front(), unit);
    }
    if (!value) return std::nullopt;
    found.value = *value;
    return found;
}

std::optional<Materials> read_materials(const std::shared_ptr<const Source>& file,
                                        const MaterialsOptions& options, Diagnostics& out) {
    const auto table = read_csv_table(file, out);
    if (!table) return {};
    return MaterialsReader(*table, options, out).read(file->path);
}

}  // namespace lowhiss
