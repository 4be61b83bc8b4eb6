#include "command/options.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "shell/log.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_frequencies = 1'000'000;

double parse_frequency(const std::string& text, const char* option) {
    const double f_hz = parse_option(text, Unit::hertz, option);
    if (f_hz > 0) return f_hz;
    throw UsageError(fmt::format("{}: '{}' is out of range; accepted: above 0 Hz", option, text));
}

bool is_bare_number(const std::string& text) {
    return text.find('%') == std::string::npos;
}

/// From here on a bare number is meant in percent, as the tables print it; 1.5 is a slip.
constexpr double least_percent = 2;

/// Whether the bare numbers of a list of rotations are percents: if one of them is. A fraction such
/// as 0.5 beside it could be either, and is refused.
bool are_percents(const std::vector<std::string>& texts, const std::vector<double>& values) {
    bool percents = false;
    std::string fraction;
    for (std::size_t k = 0; k < texts.size(); ++k) {
        if (!is_bare_number(texts[k])) continue;
        if (values[k] >= least_percent && values[k] <= 100) percents = true;
        if (values[k] > 0 && values[k] < 1) fraction = texts[k];
    }
    if (percents && !fraction.empty()) {
        throw UsageError(fmt::format(
            "--knob: '{}' is a fraction and other positions are in percent; accepted: all from 0 "
            "to 1, all from 0 to 100, or with a % sign",
            fraction));
    }
    return percents;
}

std::vector<double> log_grid(double from_hz, double to_hz, int per_decade) {
    const double steps = std::floor(std::log10(to_hz / from_hz) * per_decade + 1e-9);
    if (steps > static_cast<double>(most_frequencies)) {
        throw UsageError("--per-decade: the grid has more than a million frequencies; use fewer");
    }
    std::vector<double> grid;
    for (double k = 0; k <= steps; ++k) grid.push_back(from_hz * std::pow(10, k / per_decade));
    const bool ends_there = std::abs(grid.back() / to_hz - 1) < 1e-9;
    if (ends_there)
        grid.back() = to_hz;
    else
        grid.push_back(to_hz);
    return grid;
}

}  // namespace

void add_plot(CLI::App& command, std::string& path) {
    command
        .add_option(
            "--plot", path,
            "plot the curves as .svg, .png or .pdf (by gnuplot); - is SVG on standard output")
        ->type_name("FILE");
}

void refuse_shared_output(const std::vector<std::string>& paths) {
    if (std::count(paths.begin(), paths.end(), "-") < 2) return;
    throw UsageError("two outputs cannot both be standard output; name a file for one of them");
}

void add_common(CLI::App& command, CommonOptions& options) {
    command.add_flag("--quiet", options.quiet,
                     "print only errors and failures; requested files are still written");
    command.add_flag("--verbose", options.verbose,
                     "log files, steps, times and solver statistics to standard error");
    command.add_option("--color", options.color, "auto, always or never; auto honours NO_COLOR")
        ->check(CLI::IsMember({"auto", "always", "never"}));
}

void add_set(CLI::App& command, CommonOptions& options) {
    command
        .add_option("--set", options.set,
                    "alter the board for this run: PART=VALUE, as R5=15R, or PART.key=VALUE; "
                    "repeat for more")
        ->type_name("PART=VALUE")
        ->allow_extra_args(false);
}

std::string as_whole_number(const std::string& text) {
    const bool digits = !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
    if (digits && text.size() < 20 && (text.size() == 1 || text.front() != '0')) return "";
    return "'" + text + "' is not a whole number in plain digits";
}

void add_series(CLI::App& command, SeriesOptions& options) {
    command.add_option("--seed", options.seed, "seed of the random boards")
        ->check(as_whole_number)
        ->capture_default_str();
    command
        .add_option("--spread", options.spread,
                    "distribution within the tolerances: uniform, or normal (3 sigma)")
        ->check(CLI::IsMember({"uniform", "normal"}))
        ->capture_default_str();
}

std::array<CLI::Option*, 2> add_range(CLI::App& command, SeriesRange& range) {
    return {command.add_option("--boards", range.boards, "number of random boards")
                ->check(as_whole_number)
                ->check(CLI::Range(std::size_t{1}, std::size_t{1'000'000}))
                ->capture_default_str(),
            command.add_option("--first", range.first, "number of the first board")
                ->check(as_whole_number)
                ->capture_default_str()};
}

BoardSeries series_of(const SeriesOptions& options) {
    return {options.seed,
            options.spread == "normal" ? Distribution::normal : Distribution::uniform};
}

void add_assembly(CLI::App& command, AssemblyOptions& options) {
    command
        .add_option("--variant", options.variants,
                    "variant of the board; repeat for more, or 'all'")
        ->type_name("NAME")
        ->allow_extra_args(false);
    command
        .add_option("--capsule", options.capsules,
                    "capsule instead of the board's; repeat for more")
        ->type_name("NAME")
        ->allow_extra_args(false);
    command
        .add_option("--knob", options.knob,
                    "knob positions instead of the board's, as 0,0.5,1 or 0,50,100")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
}

void add_grid(CLI::App& command, GridOptions& options) {
    command.add_option("--from", options.from, "lowest frequency of the curves")
        ->type_name("FREQUENCY")
        ->capture_default_str();
    command.add_option("--to", options.to, "highest frequency of the curves")
        ->type_name("FREQUENCY")
        ->capture_default_str();
    command.add_option("--per-decade", options.per_decade, "frequencies per decade")
        ->check(CLI::Range(1, 10000))
        ->capture_default_str();
    command.add_option("--at", options.at, "list of frequencies instead, as 20Hz,1kHz,20kHz")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
}

Board load(const std::string& path, const CommonOptions& options, const FileReader& reader) {
    const auto log = make_logger(options);
    BoardReading reading = read_board(path, logging(reader, log, options.files), options.set);
    print_diagnostics(reading.diagnostics, options.quiet, options.color);
    if (!reading.board) throw Silent{unusable};
    return *std::move(reading.board);
}

void warn_of_unused_knob(const std::vector<double>& knob, const Board& board,
                         const CommonOptions& options) {
    if (knob.empty() || board.knob) return;
    make_logger(options)->warn("--knob has no effect: the board has no [knob]");
}

std::vector<double> frequencies(const GridOptions& options) {
    if (options.at.empty()) {
        const double from_hz = parse_frequency(options.from, "--from");
        const double to_hz = parse_frequency(options.to, "--to");
        if (!(from_hz < to_hz)) throw UsageError("--from must be lower than --to");
        return log_grid(from_hz, to_hz, options.per_decade);
    }
    std::vector<double> list;
    for (const std::string& text : options.at) list.push_back(parse_frequency(text, "--at"));
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
    return list;
}

double parse_option(const std::string& text, Unit unit, const char* option) {
    const auto parsed = parse_quantity(text, unit);
    if (const double* value = std::get_if<double>(&parsed)) return *value;
    const auto& problem = std::get<QuantityProblem>(parsed);
    throw UsageError(fmt::format("{}: {}; accepted: {}{}", option, problem.found, problem.accepted,
                                 problem.advice.empty() ? "" : "; " + problem.advice));
}

double option_within(const std::string& text, Unit unit, const char* option, double low,
                     double high) {
    const double value = parse_option(text, unit, option);
    if (value >= low && value <= high) return value;
    throw UsageError(fmt::format("{}: {} is out of range; accepted: {} to {}", option, quote(text),
                                 print_quantity(low, unit), print_quantity(high, unit)));
}

std::vector<double> gains_db(const std::vector<std::string>& texts, const char* option) {
    std::vector<double> gains;
    gains.reserve(texts.size());
    for (const std::string& text : texts) {
        gains.push_back(parse_option(text, Unit::decibel, option));
    }
    return gains;
}

std::vector<double> capacitances(const std::vector<std::string>& texts, const char* option) {
    std::vector<double> values;
    for (const std::string& text : texts) {
        values.push_back(parse_option(text, Unit::farad, option));
        if (values.back() >= 0) continue;
        throw UsageError(fmt::format("{}: '{}' is negative; accepted: 0 or more", option, text));
    }
    return values;
}

std::vector<double> knob_positions(const std::vector<std::string>& texts) {
    constexpr std::size_t most_positions = 1000;
    if (texts.size() > most_positions) {
        throw UsageError(
            fmt::format("--knob: {} positions; accepted: up to {}", texts.size(), most_positions));
    }
    std::vector<double> positions;
    positions.reserve(texts.size());
    for (const std::string& text : texts) {
        positions.push_back(parse_option(text, Unit::fraction, "--knob") + 0.0);  // no negative 0
    }
    const bool percents = are_percents(texts, positions);
    for (std::size_t k = 0; k < texts.size(); ++k) {
        if (percents && is_bare_number(texts[k])) positions[k] /= 100;
        if (positions[k] >= 0 && positions[k] <= 1) continue;
        throw UsageError(
            fmt::format("--knob: '{}' is not a knob position; accepted: 0 (counter-clockwise) to "
                        "1, or 0 to 100 in percent",
                        texts[k]));
    }
    return positions;
}

double share(const std::string& text, const char* option) {
    double value = parse_option(text, Unit::fraction, option);
    if (is_bare_number(text) && value >= least_percent) value /= 100;
    if (value >= 0 && value <= 1) return value;
    throw UsageError(
        fmt::format("{}: '{}' is not a share; accepted: 0 to 1, or 0 % to 100 %", option, text));
}

std::vector<std::string> variant_names(const Board& board, const std::vector<std::string>& names) {
    if (std::find(names.begin(), names.end(), "all") == names.end()) return names;
    std::vector<std::string> all{""};
    for (const Variant& variant : board.variants) all.push_back(variant.name);
    return all;
}

}  // namespace lowhiss::cli
