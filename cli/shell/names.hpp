#pragma once

#include <string>
#include <string_view>

namespace lowhiss::cli {

// Names come from outside: of files, boards, parts, variants, and whatever stands in an option. For
// each format one function here turns any bytes into text that the format can hold. What a format
// cannot hold becomes a ? or U+FFFD. JSON is written by one function of its own (write/json.hpp).

/// For a terminal or a log: nothing that controls it or reorders a line.
std::string for_terminal(std::string_view text);

/// The same, but line ends stay.
std::string lines_for_terminal(std::string_view text);

/// Visible characters of XML 1.0, fifth edition, section 2.2, and line ends; its writer escapes.
std::string for_xml(std::string_view text);

/// Text without markup, for an element or an attribute.
std::string for_html(std::string_view text);

/// A cell, quoted where RFC 4180 asks for it. A cell that a spreadsheet would take for a formula
/// gets an apostrophe in front.
std::string for_csv(std::string_view text);

/// A string of gnuplot with its quotes: in double quotes, all but plain characters by their code.
std::string for_gnuplot(std::string_view text);

/// A cell of a table in GitHub's Markdown, in which nothing is markup; an underscore within a word
/// stays, as that of `low_corner`.
std::string for_markdown(std::string_view text);

/// The inside of a quoted string of Graphviz, and of a label in its HTML.
std::string for_graphviz(std::string_view text);
std::string for_graphviz_label(std::string_view text);

}  // namespace lowhiss::cli
