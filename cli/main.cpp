#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <new>

#include "check.hpp"
#include "compare.hpp"
#include "console.hpp"
#include "inspect.hpp"
#include "lowhiss/board/nearest.hpp"
#include "report.hpp"
#include "supply.hpp"
#include "sweep.hpp"
#include "tolerance.hpp"

namespace lowhiss::cli {
namespace {

ExitStatus status_of(const Error& error) {
    return error.kind() == Error::Kind::no_unique_solution ? no_solution : unusable;
}

int report(std::string_view text, ExitStatus status) {
    fmt::print(stderr, "lowhiss: error: {}\n", text);
    return status;
}

/// Does what the subcommand says; everything that can go wrong ends here as text and a status.
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
        return report("there is not enough memory for this", unusable);
    } catch (const std::exception& error) {
        return report(fmt::format("unexpected: {}", error.what()), unusable);
    }
}

/// What the parser says of a wrong word alone does not tell which word.
void report_unknown_command(const CLI::App& app, const std::string& word) {
    std::vector<std::string> commands;
    for (const CLI::App* command : app.get_subcommands({})) commands.push_back(command->get_name());
    const bool known = std::find(commands.begin(), commands.end(), word) != commands.end();
    if (known || word.starts_with('-')) return;
    const std::string advice = did_you_mean(word, commands);
    fmt::print(stderr, "lowhiss: error: there is no command '{}'; accepted: {}{}\n", word,
               listed(commands), advice.empty() ? "" : "; " + advice);
}

int run(int argc, char** argv) {
    CLI::App app("Reads a preamp board as text and says how it responds and how much it hisses.",
                 "lowhiss");
    app.set_version_flag("--version", "lowhiss " LOWHISS_VERSION);
    app.require_subcommand(1);
    app.footer(
        "Exit status: 0 done; 1 a limit or baseline is not met; 2 wrong usage or a file\n"
        "that cannot be used; 3 the circuit has no unique solution. A tolerance run that\n"
        "is interrupted reports what it has and ends by the signal: 130 or 143.");
    SweepOptions sweep_options;
    CheckOptions check_options;
    CompareOptions compare_options;
    ToleranceOptions tolerance_options;
    SupplyOptions supply_options;
    ReportOptions report_options;
    InspectOptions inspect_options;
    add_sweep(app, sweep_options);
    add_check(app, check_options);
    add_compare(app, compare_options);
    add_tolerance(app, tolerance_options);
    add_supply(app, supply_options);
    add_report(app, report_options);
    add_inspect(app, inspect_options);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() != 0 && argc > 1) report_unknown_command(app, argv[1]);
        return app.exit(error) == 0 ? done : unusable;
    }
    return guarded([&] {
        if (app.got_subcommand("sweep")) return run_sweep(sweep_options);
        if (app.got_subcommand("check")) return run_check(check_options);
        if (app.got_subcommand("compare")) return run_compare(compare_options);
        if (app.got_subcommand("tolerance")) return run_tolerance(tolerance_options);
        if (app.got_subcommand("report")) return run_report(report_options);
        if (app.got_subcommand("supply")) return run_supply(supply_options);
        return run_inspect(inspect_options);
    });
}

}  // namespace
}  // namespace lowhiss::cli

int main(int argc, char** argv) {
    try {
        return lowhiss::cli::run(argc, argv);
    } catch (...) {  // outside of what `guarded` turns into text: no memory to set up in
        std::fputs("lowhiss: error: cannot start\n", stderr);
        return lowhiss::cli::unusable;
    }
}
