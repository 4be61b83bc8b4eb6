#pragma once

#include <string>
#include <vector>

#include "lowhiss/quantity/unit.hpp"

namespace lowhiss::cli {

/// A table for people: columns as wide as their widest cell, numbers to the right, the first
/// columns (`left`) to the left. Width counts code points.
class Table {
  public:
    explicit Table(std::size_t left) : left_(left) {}

    void heading(std::vector<std::string> cells) { headings_.push_back(std::move(cells)); }
    void row(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
    /// A line of text between rows, as wide as it likes.
    void section(std::string text) { rows_.push_back({std::move(text)}); }
    bool empty() const { return rows_.empty(); }

    /// Lines of two blanks' indent, with a rule under the headings.
    std::string text() const;

  private:
    std::size_t left_;
    std::vector<std::vector<std::string>> headings_;
    std::vector<std::vector<std::string>> rows_;
};

/// A figure with a fixed number of decimals, or a dash where there is none.
std::string fixed(double value, int decimals);

/// A figure with three digits and a prefix letter, "8.32k", or a dash; the heading has the unit.
std::string compact(double value);

/// A figure with its unit and a prefix, "8.32 kHz", or a dash.
std::string quantity(double value, Unit unit);

/// A fraction in whole percent, without the sign: "25".
std::string percent(double fraction);

/// Shares of the noise smaller than this are not listed.
inline constexpr double smallest_share_shown = 0.005;

/// A text cut, with an ellipsis, to at most that many columns.
std::string cut(const std::string& text, std::size_t columns);

/// "  intro: a, b, c", broken into lines of at most 80 columns.
std::string wrapped_list(const std::string& intro, const std::vector<std::string>& items);

/// A line broken at blanks to at most 80 columns, what follows the first indented by `indent`.
std::string hanging(const std::string& line, std::size_t indent);

/// Width in columns of a terminal: code points.
std::size_t width_of(const std::string& text);

}  // namespace lowhiss::cli
