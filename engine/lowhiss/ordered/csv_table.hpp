#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

struct CsvCell {
    std::string text;  ///< trimmed, UTF-8
    Position at;
};

/// A table by RFC 4180, with what writers make of it.
struct CsvTable {
    std::vector<std::vector<CsvCell>> rows;  ///< without empty ones; the first is the header
    char separator = ',';
    std::string encoding;  ///< "UTF-8", "UTF-16" or "Latin-1"
};

/// The text in UTF-8: UTF-16 by its byte-order mark or by its zeros, else Latin-1 unless it is
/// valid UTF-8. Nothing if it is odd UTF-16.
struct DecodedText {
    std::string text;
    std::string encoding;
};
std::optional<DecodedText> decode_text(const std::string& bytes);

/// The file as a table. The separator is the comma, semicolon or tab that the first line has most
/// of outside quotes. Reports an unclosed quote, binary content, a table of one column and more
/// than 5000 rows or 200 cells a row to `out`, and then returns nothing.
std::optional<CsvTable> read_csv_table(const std::shared_ptr<const Source>& file, Diagnostics& out);

}  // namespace lowhiss
