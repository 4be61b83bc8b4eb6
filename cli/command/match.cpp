#include "command/match.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <utility>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/ordered/match_files.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/match_json.hpp"
#include "write/match_junit.hpp"
#include "write/match_text.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

/// "NAME=VALUE" in two; both must be there.
std::pair<std::string, std::string> name_and_value(const std::string& text, const char* option,
                                                   const char* accepted) {
    const auto equals = text.find('=');
    if (equals == 0 || equals == std::string::npos || equals + 1 == text.size()) {
        throw UsageError(
            fmt::format("{}: '{}' is not a pair; accepted: {}", option, text, accepted));
    }
    return {text.substr(0, equals), text.substr(equals + 1)};
}

}  // namespace

MaterialsOptions materials_options(const MaterialsReading& reading) {
    MaterialsOptions options;
    constexpr const char* accepted = "designator=NAME or value=NAME";
    for (const std::string& text : reading.columns) {
        const auto [key, name] = name_and_value(text, "--columns", accepted);
        if (key == "designator")
            options.designator_column = name;
        else if (key == "value")
            options.value_column = name;
        else
            throw UsageError(fmt::format("--columns: '{}' is not a kind of column; accepted: {}",
                                         key, accepted));
    }
    options.unfitted = reading.unfitted;
    return options;
}

void add_materials_reading(CLI::App& command, MaterialsReading& reading) {
    command
        .add_option("--columns", reading.columns,
                    "columns of the list of materials, if not recognised: "
                    "designator=NAME,value=NAME")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
    command
        .add_option("--unfitted", reading.unfitted,
                    "text of a cell that marks a row of the list of materials as not fitted; "
                    "repeat for more")
        ->type_name("TEXT")
        ->allow_extra_args(false);
}

void add_match(CLI::App& app, MatchOptions& options) {
    CLI::App* command = app.add_subcommand(
        "match", "compare a board with the data it is ordered by; exits 1 if they differ");
    command->add_option("BOARD", options.board, "the board file")->required();
    command
        ->add_option("FILE", options.files,
                     "the data, known by its content: a test file by IPC-D-356A, copper layers "
                     "with attributes, a list of materials as CSV")
        ->required();
    command
        ->add_option("--materials", options.materials,
                     "the list of materials of a variant, as NAME=FILE; repeat for more")
        ->type_name("NAME=FILE")
        ->allow_extra_args(false);
    add_materials_reading(*command, options.reading);
    command->add_option("--json", options.json, "write the findings as JSON; - is standard output")
        ->type_name("FILE");
    command
        ->add_option("--junit", options.junit,
                     "write JUnit XML for CI, one test case per kind of finding")
        ->type_name("FILE");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_match(const MatchOptions& options) {
    refuse_shared_output({options.json, options.junit});
    OrderedFiles files{options.files, {}, materials_options(options.reading)};
    const Board board = load(options.board, options.common);
    for (const std::string& text : options.materials) {
        const auto pair = name_and_value(text, "--materials", "NAME=FILE");
        if (pair.first != plain_variant) variant_named(board, pair.first);
        files.materials.push_back(pair);
    }
    const auto log = make_logger(options.common);
    Diagnostics diagnostics;
    const auto ordered =
        read_ordered(files, logging(disk_reader(), log, options.common.files), diagnostics);
    keep_apart({options.json, options.junit}, *options.common.files);
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    if (!ordered) return unusable;
    const MatchReport report = match_ordered(board, *ordered);
    const bool output_taken = options.json == "-" || options.junit == "-";
    const bool bold = wants_color(options.common.color, stdout);
    if (!output_taken) write_output("-", match_text(report, options.common.quiet, bold));
    if (!options.json.empty()) write_output(options.json, match_json(report));
    if (!options.junit.empty()) write_output(options.junit, match_junit(report));
    return report.findings.empty() ? done : not_met;
}

}  // namespace lowhiss::cli
