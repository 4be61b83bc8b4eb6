#pragma once

#include <array>
#include <complex>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

/// What the readers of impedance files share: text that knows its place, numbers and faults.
/// Private to this folder.
namespace lowhiss::impedance_file {

/// A piece of a line. It keeps the line in view, so that only a fault has to count columns.
struct Token {
    std::string_view text;
    std::string_view line;
    int line_number = 0;

    Token part(std::string_view piece) const { return {piece, line, line_number}; }
};

/// Hands out a text's lines without byte order mark and line ends.
class Lines {
  public:
    explicit Lines(std::string_view text);
    std::optional<Token> next();

  private:
    std::string_view rest_;
    int line_number_ = 0;
};

/// Adds what is wrong with one file to the diagnostics, up to a limit.
class Faults {
  public:
    Faults(std::shared_ptr<const Source> file, Diagnostics& out);

    void add(const Token& at, std::string found, std::string accepted, std::string advice = "");
    void add_for_file(std::string found, std::string accepted, std::string advice = "");

    bool any() const { return count_ > 0; }
    bool full() const { return count_ == limit; }

  private:
    static constexpr int limit = 10;

    void add(Position at, std::string found, std::string accepted, std::string advice);

    std::shared_ptr<const Source> file_;
    Diagnostics& out_;
    int count_ = 0;
};

/// Without spaces and tabs at either end.
std::string_view trimmed(std::string_view text);

/// ASCII letters in lower case, whatever the locale.
std::string lower(std::string_view text);

/// Whether a number was meant: "12", "-1,5", "3k" and "nan" all begin like one.
bool begins_like_a_number(std::string_view text);

/// A finite decimal with an optional exponent, whatever the locale; anything else is a fault.
std::optional<double> number(const Token& field, Faults& faults);

/// Another count than three is a fault of the line.
bool has_three(std::span<const Token> fields, std::string_view accepted, Faults& faults);

/// Three numbers and nothing else; anything else is a fault, in each field that has one.
std::optional<std::array<double, 3>> three_numbers(std::span<const Token> fields,
                                                   std::string_view accepted, Faults& faults);

/// Magnitude and angle as a complex number; a negative magnitude is a fault of its field.
std::optional<std::complex<double>> polar(const Token& field, double magnitude, double angle_deg,
                                          Faults& faults);

}  // namespace lowhiss::impedance_file
