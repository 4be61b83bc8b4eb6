#include "lowhiss/ordered/csv_table.hpp"

#include <fmt/format.h>
#include <iconv.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <string_view>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/text/utf8.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t most_rows = 5000;
constexpr std::size_t most_cells = 200;

bool is_utf8(std::string_view text) {
    while (!text.empty()) {
        if (take_code_point(text) == invalid_code_point) return false;
    }
    return true;
}

/// Converts by iconv of the C library. Nothing if the bytes are not valid in that encoding.
std::optional<std::string> to_utf8(std::string bytes, const char* encoding) {
    iconv_t converter = ::iconv_open("UTF-8", encoding);
    if (reinterpret_cast<std::intptr_t>(converter) == -1) return std::nullopt;
    std::string text(bytes.size() * 3 + 4,
                     '\0');  // UTF-8 has at most three bytes for two of UTF-16
    char* from = bytes.data();
    char* to = text.data();
    std::size_t from_left = bytes.size();
    std::size_t to_left = text.size();
    const std::size_t result = ::iconv(converter, &from, &from_left, &to, &to_left);
    ::iconv_close(converter);
    if (result == static_cast<std::size_t>(-1)) return std::nullopt;
    text.resize(text.size() - to_left);
    return text;
}

/// Every other byte of UTF-16 is zero in a table that is mostly ASCII.
const char* utf16_without_mark(std::string_view bytes) {
    const std::string_view start = bytes.substr(0, 64);
    std::array<std::size_t, 2> zeros{};
    for (std::size_t k = 0; k < start.size(); ++k) zeros[k % 2] += start[k] == '\0' ? 1 : 0;
    if (start.size() < 4) return nullptr;
    if (zeros[1] * 3 > start.size()) return "UTF-16LE";
    return zeros[0] * 3 > start.size() ? "UTF-16BE" : nullptr;
}

char separator_of(std::string_view text) {
    std::array<std::size_t, 3> counts{};
    constexpr std::string_view separators = ",;\t";
    bool inside = false;
    bool content = false;
    for (const char c : text) {
        if (c == '"') inside = !inside;
        if (c == '\n' && !inside && content) break;
        content = content || (c != '\n' && c != '\r');
        const auto which = separators.find(c);
        if (!inside && which != std::string_view::npos) ++counts[which];
    }
    return separators[static_cast<std::size_t>(std::ranges::max_element(counts) - counts.begin())];
}

/// Splits the text by RFC 4180: quoted cells may hold separators, line ends and doubled quotes.
/// Cells keep their positions, which a CSV library would not give.
class CsvSplitter {
  public:
    CsvSplitter(std::shared_ptr<const Source> file, CsvTable& table)
        : file_(std::move(file)), table_(table) {}

    /// Returns the mistake, at `at`, or an empty text.
    std::string split(std::string_view text, Position& at) {
        begin_cell();
        for (std::size_t k = 0; k < text.size(); ++k) {
            const char c = text[k];
            const bool quote_begins = c == '"' && !inside_ && trimmed(cell_.text).empty();
            if (inside_ && c == '"' && k + 1 < text.size() && text[k + 1] == '"') {
                cell_.text += text[++k];
                ++column_;
            } else if (quote_begins || (inside_ && c == '"')) {
                if (quote_begins) opened_ = {file_, line_, column_};
                inside_ = !inside_;
            } else if (!inside_ && c == table_.separator) {
                end_cell();
            } else if (!inside_ && c == '\n') {
                end_row();
            } else {
                cell_.text += c;
            }
            advance(c);
            if (k + 1 == text.size() || cell_.text.empty()) mark_cell();
            if (row_.size() > most_cells || table_.rows.size() > most_rows) {
                at = {file_, line_, 0};
                return fmt::format("more than {} rows, or {} cells in a row", most_rows,
                                   most_cells);
            }
        }
        at = opened_;
        if (inside_) return "a quote is never closed";
        end_row();
        return "";
    }

  private:
    void advance(char c) {
        const bool starts_code_point = (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
        if (c == '\n') {
            ++line_;
            column_ = 1;
        } else if (starts_code_point) {
            ++column_;
        }
    }

    void begin_cell() { cell_ = {"", {file_, line_, column_}}; }

    /// The position of a cell is that of its first character, once there is one.
    void mark_cell() {
        if (cell_.text.empty()) cell_.at = {file_, line_, column_};
    }

    void end_cell() {
        cell_.text = std::string(trimmed(cell_.text));
        row_.push_back(std::move(cell_));
        begin_cell();
    }

    void end_row() {
        end_cell();
        const bool empty = std::all_of(row_.begin(), row_.end(),
                                       [](const CsvCell& cell) { return cell.text.empty(); });
        if (!empty) table_.rows.push_back(std::move(row_));
        row_.clear();
    }

    std::shared_ptr<const Source> file_;
    CsvTable& table_;
    std::vector<CsvCell> row_;
    CsvCell cell_;
    bool inside_ = false;
    int line_ = 1;
    int column_ = 1;
    Position opened_;
};

}  // namespace

std::optional<DecodedText> decode_text(const std::string& bytes) {
    if (bytes.starts_with("\xEF\xBB\xBF")) return DecodedText{bytes.substr(3), "UTF-8"};
    const bool little = bytes.starts_with("\xFF\xFE");
    const bool big = bytes.starts_with("\xFE\xFF");
    const char* utf16 = little ? "UTF-16LE" : big ? "UTF-16BE" : utf16_without_mark(bytes);
    if (utf16) {
        auto text = to_utf8(bytes.substr(little || big ? 2 : 0), utf16);
        if (!text) return std::nullopt;
        return DecodedText{*std::move(text), "UTF-16"};
    }
    if (is_utf8(bytes)) return DecodedText{bytes, "UTF-8"};
    auto text = to_utf8(bytes, "ISO-8859-1");
    if (!text) return std::nullopt;
    return DecodedText{*std::move(text), "Latin-1"};
}

std::optional<CsvTable> read_csv_table(const std::shared_ptr<const Source>& file,
                                       Diagnostics& out) {
    const auto refuse = [&](Position at, std::string found) -> std::optional<CsvTable> {
        out.push_back({Severity::error, "bad-materials", std::move(at), "", std::move(found),
                       "a list of materials as CSV, with a header and a column of designators",
                       ""});
        return std::nullopt;
    };
    const auto decoded = decode_text(file->text);
    if (!decoded) return refuse({file, 0, 0}, "the text is neither UTF-8 nor UTF-16");
    if (decoded->text.find('\0') != std::string::npos) {
        return refuse({file, 0, 0}, "the content is binary");
    }
    CsvTable table;
    table.encoding = decoded->encoding;
    table.separator = separator_of(decoded->text);
    // Positions are shown with the line, which must be the text that was split.
    const auto source = std::make_shared<Source>(Source{file->path, decoded->text});
    Position at;
    const std::string fault = CsvSplitter(source, table).split(source->text, at);
    if (!fault.empty()) return refuse(at, fault);
    if (table.rows.empty() || table.rows.front().size() < 2) {
        return refuse({file, 0, 0}, table.rows.empty() ? "the file is empty"
                                                       : "the first line has only one column");
    }
    return table;
}

}  // namespace lowhiss
