#include "command/draft.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "lowhiss/ordered/draft.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

void refuse_many(const std::vector<std::string>& pins, const char* option) {
    if (pins.size() <= 2) return;
    throw UsageError(fmt::format("{}: {} pins; accepted: plus, or plus and minus, as J1.2,J1.3",
                                 option, pins.size()));
}

}  // namespace

void add_draft(CLI::App& app, DraftOptions& options) {
    CLI::App* command = app.add_subcommand(
        "draft", "write a board file to start from: a commented one, or one made of ordered data");
    command->add_option("FILE", options.files,
                        "the data, known by its content: a test file by IPC-D-356A or copper "
                        "layers, and a list of materials; none for the commented board");
    command
        ->add_option("--input", options.input,
                     "pins of a connector that the capsule is on, as J1.2,J1.3")
        ->type_name("PINS")
        ->delimiter(',')
        ->allow_extra_args(false);
    command->add_option("--output", options.output, "pins of the output, likewise")
        ->type_name("PINS")
        ->delimiter(',')
        ->allow_extra_args(false);
    add_materials_reading(*command, options.reading);
    add_common(*command, options.common);
}

ExitStatus run_draft(const DraftOptions& options) {
    refuse_many(options.input, "--input");
    refuse_many(options.output, "--output");
    const OrderedFiles files{options.files, {}, materials_options(options.reading)};
    if (options.files.empty()) {
        if (!options.input.empty() || !options.output.empty()) {
            throw UsageError("--input and --output need the data that has these pins");
        }
        write_output("-", starter_board());
        return done;
    }
    const auto log = make_logger(options.common);
    Diagnostics diagnostics;
    const auto ordered =
        read_ordered(files, logging(disk_reader(), log, options.common.files), diagnostics);
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    if (!ordered) return unusable;
    if (ordered->nets.empty()) {
        throw UsageError("no file says what is connected; accepted: a test file or copper layers");
    }
    write_output("-", draft_text(*ordered, {options.input, options.output}));
    return done;
}

}  // namespace lowhiss::cli
