#pragma once

#include <CLI/CLI.hpp>
#include <cstdint>
#include <stdexcept>
#include <string>
#include <vector>

#include "lowhiss/series/random_board.hpp"
#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// The exit statuses, an interface of the command. Never reuse one.
enum ExitStatus { done = 0, not_met = 1, unusable = 2, no_solution = 3 };

/// A wrong option or a file that cannot be written; the text says what to do.
class UsageError : public std::runtime_error {
  public:
    using std::runtime_error::runtime_error;
};

/// What every subcommand takes.
struct CommonOptions {
    bool quiet = false;
    bool verbose = false;
    std::string color = "auto";
};

/// Which assemblies of the board are looked at, and how.
struct AssemblyOptions {
    std::vector<std::string> variants;
    std::vector<std::string> capsules;
    std::vector<std::string> knob;
};

/// Which frequencies are written out.
struct GridOptions {
    std::string from = "10 Hz";
    std::string to = "200 kHz";
    int per_decade = 20;
    std::vector<std::string> at;
};

/// Which of the boards that come off the bench.
struct SeriesOptions {
    std::uint64_t seed = 1;
    std::string straying = "even";
};

/// A check of the command line's: "" for digits, or what is wrong. The library itself takes minus
/// signs, octal and hexadecimal digits, and numbers that are too large.
std::string as_whole_number(const std::string& text);

void add_series(CLI::App& command, SeriesOptions& options);
BoardSeries series_of(const SeriesOptions& options);

/// --plot, of every command that has curves.
void add_plot(CLI::App& command, std::string& path);

/// Throws UsageError where two outputs are both standard output.
void refuse_shared_output(const std::vector<std::string>& paths);

void add_common(CLI::App& command, CommonOptions& options);
void add_assembly(CLI::App& command, AssemblyOptions& options);
void add_grid(CLI::App& command, GridOptions& options);

/// Reads the board; on errors prints all of them and throws Silent.
struct Silent {
    ExitStatus status;
};
Board load(const std::string& path, const CommonOptions& options,
           const FileReader& reader = disk_reader());

// Each throws UsageError naming the option.
std::vector<double> frequencies(const GridOptions& options);
std::vector<double> gains_db(const std::vector<std::string>& texts, const char* option);
std::vector<double> capacitances(const std::vector<std::string>& texts, const char* option);
std::vector<double> knob_positions(const std::vector<std::string>& texts);
std::vector<std::string> variant_names(const Board& board, const std::vector<std::string>& names);

}  // namespace lowhiss::cli
