#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <new>
#include <sstream>

#include "command/command_line.hpp"
#include "lowhiss/text/nearest.hpp"
#include "shell/console.hpp"
#include "shell/names.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

ExitStatus status_of(const Error& error) {
    return error.kind() == Error::Kind::no_unique_solution ? no_solution : unusable;
}

int report(std::string_view text, ExitStatus status) {
    fmt::print(stderr, "lowhiss: error: {}\n", for_terminal(text));
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

/// Prints help and version to standard output, and a message of CLI11, which contains the user's
/// own words, to standard error.
int end_of_parsing(const CLI::App& app, const CLI::ParseError& error) {
    std::ostringstream out;
    std::ostringstream message;
    const int code = app.exit(error, out, message);
    fmt::print(stderr, "{}", lines_for_terminal(message.str()));
    if (!out.str().empty()) write_output("-", out.str());
    return code == 0 ? done : unusable;
}

/// CLI11's own message does not name the wrong word.
void report_unknown_command(const CLI::App& app, const std::string& word) {
    std::vector<std::string> commands;
    for (const CLI::App* command : app.get_subcommands({})) commands.push_back(command->get_name());
    const bool known = std::find(commands.begin(), commands.end(), word) != commands.end();
    if (known || word.starts_with('-')) return;
    const std::string advice = did_you_mean(word, commands);
    report(fmt::format("unknown command '{}'; accepted: {}{}", word, listed(commands),
                       advice.empty() ? "" : "; " + advice),
           unusable);
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
        return guarded([&] { return end_of_parsing(line.app, error); });
    }
    return guarded([&] {
        const auto asked = [&](const char* name) { return line.app.got_subcommand(name); };
        if (asked("sweep")) return run_sweep(line.sweep);
        if (asked("check")) return run_check(line.check);
        if (asked("compare")) return run_compare(line.compare);
        if (asked("tolerance")) return run_tolerance(line.tolerance);
        if (asked("listen")) return run_listen(line.listen);
        if (asked("report")) return run_report(line.report);
        if (asked("choose")) return run_choose(line.choose);
        if (asked("supply")) return run_supply(line.supply);
        if (asked("inspect")) return run_inspect(line.inspect);
        if (asked("match")) return run_match(line.match);
        if (asked("draft")) return run_draft(line.draft);
        if (asked("fit")) return run_fit(line.fit);
        if (asked("list")) return run_list(line.list);
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

/// If a standard stream is closed, the next file that is opened would take its place, and what is
/// meant for the stream would end up there. Writing to these fails, as it does on a closed stream.
void fill_closed_streams() {
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
        if (::fcntl(stream, F_GETFD) >= 0) continue;
        [[maybe_unused]] const int same =
            ::open("/dev/null", stream == STDIN_FILENO ? O_WRONLY : O_RDONLY);
    }
}

int main(int argc, char** argv) {
    std::set_terminate(end_with_message);
    fill_closed_streams();
    std::signal(SIGXFSZ, SIG_IGN);  // a limit on the size of files is then an error of write()
    try {
        return lowhiss::cli::run(argc, argv);
    } catch (...) {  // thrown outside of `guarded`: no memory for the command line
        std::fputs("lowhiss: error: cannot start, probably out of memory\n", stderr);
        return lowhiss::cli::unusable;
    }
}
