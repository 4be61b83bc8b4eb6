#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/quantity/unit.hpp"
#include "lowhiss/series/random_board.hpp"
#include "lowhiss/text/file_reader.hpp"
#include "shell/console.hpp"
#include "shell/exit_status.hpp"

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace lowhiss::cli {

/// Which assemblies of the board are solved, and where.
struct AssemblyOptions {
    std::vector<std::string> variants;
    std::vector<std::string> capsules;
    std::vector<std::string> knob;
};

/// The frequencies of curves.
struct GridOptions {
    std::string from = "10 Hz";
    std::string to = "200 kHz";
    int per_decade = 20;
    std::vector<std::string> at;
};

/// A series of random boards.
struct SeriesOptions {
    std::uint64_t seed = 1;
    std::string spread = "uniform";
};

/// Which boards of a series.
struct SeriesRange {
    std::size_t boards = 1000;
    std::uint64_t first = 0;
};

// Options that several subcommands have.
void add_common(CLI::App& command, CommonOptions& options);
void add_set(CLI::App& command, CommonOptions& options);
void add_assembly(CLI::App& command, AssemblyOptions& options);
void add_grid(CLI::App& command, GridOptions& options);
void add_series(CLI::App& command, SeriesOptions& options);
/// Returns both options.
std::array<CLI::Option*, 2> add_range(CLI::App& command, SeriesRange& range);
void add_plot(CLI::App& command, std::string& path);

/// A validator: "" for a whole number in plain digits, or what is wrong. CLI11 itself accepts minus
/// signs, octal and hexadecimal digits, and numbers that are too large.
std::string as_whole_number(const std::string& text);

/// Throws UsageError if more than one output is standard output.
void refuse_shared_output(const std::vector<std::string>& paths);

/// Reads the board; on errors prints all of them and throws Silent.
Board load(const std::string& path, const CommonOptions& options,
           const FileReader& reader = disk_reader());

/// Warns if `knob` is given for a board without a knob.
void warn_of_unused_knob(const std::vector<double>& knob, const Board& board,
                         const CommonOptions& options);

BoardSeries series_of(const SeriesOptions& options);

// Each throws UsageError naming the option.
double parse_option(const std::string& text, Unit unit, const char* option);

/// The same within a range, of which the message names the ends.
double option_within(const std::string& text, Unit unit, const char* option, double low,
                     double high);
std::vector<double> frequencies(const GridOptions& options);
std::vector<double> gains_db(const std::vector<std::string>& texts, const char* option);
std::vector<double> capacitances(const std::vector<std::string>& texts, const char* option);
/// Fractions as 0.5, percents as "50 %" or, if one of the list is 2 or more, as 50.
std::vector<double> knob_positions(const std::vector<std::string>& texts);
/// A share as 0.98, "98 %" or 98.
double share(const std::string& text, const char* option);

/// The names with "all" resolved to every variant, the plain board "" first.
std::vector<std::string> variant_names(const Board& board, const std::vector<std::string>& names);

}  // namespace lowhiss::cli
