#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <new>

#include "command/command_line.hpp"
#include "lowhiss/text/nearest.hpp"
#include "shell/console.hpp"

namespace lowhiss::cli {
namespace {

ExitStatus status_of(const Error& error) {
    return error.kind() == Error::Kind::no_unique_solution ? no_solution : unusable;
}

int report(std::string_view text, ExitStatus status) {
    fmt::print(stderr, "lowhiss: error: {}\n", text);
    return status;
}

/// Runs the subcommand; every exception ends here as a message and an exit status.
template <class Run>
int guarded(Run run) {
    try {
        return run();
    } catch (const Silent& silent) {
        return silent.status;
    } catch (const Error& error) {
        print_diagnostics(error.diagnostics(), false, "auto");
        return status_of(error);
    } catch (const UsageError& error) {
        return report(error.what(), unusable);
    } catch (const std::bad_alloc&) {
        return report("out of memory", unusable);
    } catch (const std::exception& error) {
        return report(fmt::format("internal error: {}", error.what()), unusable);
    }
}

/// CLI11's own message does not name the wrong word.
void report_unknown_command(const CLI::App& app, const std::string& word) {
    std::vector<std::string> commands;
    for (const CLI::App* command : app.get_subcommands({})) commands.push_back(command->get_name());
    const bool known = std::find(commands.begin(), commands.end(), word) != commands.end();
    if (known || word.starts_with('-')) return;
    const std::string advice = did_you_mean(word, commands);
    fmt::print(stderr, "lowhiss: error: unknown command '{}'; accepted: {}{}\n", word,
               listed(commands), advice.empty() ? "" : "; " + advice);
}

int run(int argc, char** argv) {
    CommandLine line;
    try {
        std::vector<std::string> arguments =
            with_new_names({argv + std::min(argc, 1), argv + argc});
        std::reverse(arguments.begin(), arguments.end());  // CLI11 takes them from the end
        line.app.parse(std::move(arguments));
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() != 0 && argc > 1) report_unknown_command(line.app, argv[1]);
        return line.app.exit(error) == 0 ? done : unusable;
    }
    return guarded([&] {
        const auto asked = [&](const char* name) { return line.app.got_subcommand(name); };
        if (asked("sweep")) return run_sweep(line.sweep);
        if (asked("check")) return run_check(line.check);
        if (asked("compare")) return run_compare(line.compare);
        if (asked("tolerance")) return run_tolerance(line.tolerance);
        if (asked("report")) return run_report(line.report);
        if (asked("supply")) return run_supply(line.supply);
        if (asked("inspect")) return run_inspect(line.inspect);
        return run_describe(line.app, line.describe);
    });
}

}  // namespace
}  // namespace lowhiss::cli

/// Libraries may run out of memory in functions that must not throw, such as destructors. Output
/// files are renamed when complete, so none is left half written.
[[noreturn]] void end_with_message() {
    std::fputs("lowhiss: error: stopped, probably out of memory\n", stderr);
    std::_Exit(lowhiss::cli::unusable);
}

int main(int argc, char** argv) {
    std::set_terminate(end_with_message);
    try {
        return lowhiss::cli::run(argc, argv);
    } catch (...) {  // thrown outside of `guarded`: no memory for the command line
        std::fputs("lowhiss: error: cannot start, probably out of memory\n", stderr);
        return lowhiss::cli::unusable;
    }
}
