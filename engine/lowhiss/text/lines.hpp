#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

// Shared by readers of tables of numbers: lines and cells with their positions, numbers, and the
// faults of one file.

/// A piece of a line. It refers to its line, so that its column is counted only if it is reported.
struct Token {
    std::string_view text;
    std::string_view line;
    int line_number = 0;

    Token part(std::string_view piece) const { return {piece, line, line_number}; }
};

/// The lines of a text, without byte order mark and line ends.
class TextLines {
  public:
    explicit TextLines(std::string_view text);
    std::optional<Token> next();

  private:
    std::string_view rest_;
    int line_number_ = 0;
};

/// The cells between a line's commas, trimmed and without the quotes around them. This is the part
/// of RFC 4180 that tables of numbers need: quoted cells, but none with a line break.
std::vector<Token> cells_of(const Token& line);

/// Reports the faults of one file, up to ten, all with the same code.
class Faults {
  public:
    Faults(std::shared_ptr<const Source> file, std::string code, Diagnostics& out);

    void add(const Token& at, std::string found, std::string accepted, std::string advice = "");
    void add_for_file(std::string found, std::string accepted, std::string advice = "");

    bool any() const { return count_ > 0; }
    bool full() const { return count_ == limit; }

  private:
    static constexpr int limit = 10;

    void add(Position at, std::string found, std::string accepted, std::string advice);

    std::shared_ptr<const Source> file_;
    std::string code_;
    Diagnostics& out_;
    int count_ = 0;
};

/// Whether a number was meant: "12", "-1,5", "3k" and "nan" all begin like one.
bool begins_like_a_number(std::string_view text);

/// Whether no cell begins like a number.
bool is_header(const std::vector<Token>& fields);

/// A finite decimal with an optional exponent, whatever the locale; anything else is a fault.
std::optional<double> read_number(const Token& field, Faults& faults);

/// Whether the line has that many columns; another number is a fault.
bool has_columns(std::size_t count, const std::vector<Token>& cells, std::string_view accepted,
                 Faults& faults);

}  // namespace lowhiss
