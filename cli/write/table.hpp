#pragma once

#include <string>
#include <vector>

#include "lowhiss/quantity/unit.hpp"

namespace lowhiss::cli {

/// A text table. Each column is as wide as its widest cell; the first `left` columns are aligned
/// left, the others right. Width counts code points.
class Table {
  public:
    explicit Table(std::size_t left) : left_(left) {}

    void heading(std::vector<std::string> cells) { headings_.push_back(std::move(cells)); }
    void row(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
    /// A line of text between rows, of any width.
    void section(std::string text) { rows_.push_back({std::move(text)}); }
    bool empty() const { return rows_.empty(); }

    /// Lines indented by two blanks, with a rule under the headings.
    std::string text() const;

  private:
    std::size_t left_;
    std::vector<std::vector<std::string>> headings_;
    std::vector<std::vector<std::string>> rows_;
};

/// The title of a table, bold on a terminal, with its line end.
std::string title_line(const std::string& text, bool bold);

/// A figure with a fixed number of decimals, or a dash if it is unset.
std::string fixed(double value, int decimals);

/// A figure with three digits and a prefix letter, "8.32k", or a dash; the heading names the unit.
std::string compact(double value);

/// A figure with its unit and a prefix, "8.32 kHz", or a dash.
std::string quantity(double value, Unit unit);

/// A frequency of three digits, or two below 1 Hz: "8.32 kHz", "0.5 Hz", or a dash.
std::string frequency_text(double hz);

/// A fraction in whole percent, without the sign: "25".
std::string percent(double fraction);

/// Shares of the noise smaller than this are not listed.
inline constexpr double smallest_share_shown = 0.005;

/// A text shortened, with an ellipsis, to at most that many columns.
std::string cut(const std::string& text, std::size_t columns);

/// "  intro: a, b, c", broken into lines of at most 80 columns.
std::string wrapped_list(const std::string& intro, const std::vector<std::string>& items);

/// A line broken at blanks to at most 80 columns; all but the first are indented by `indent`.
std::string hanging(const std::string& line, std::size_t indent);

/// Width on a terminal, in columns: the number of code points.
std::size_t width_of(const std::string& text);

}  // namespace lowhiss::cli
