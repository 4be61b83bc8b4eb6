#include "command/command_line.hpp"

#include "shell/version.hpp"

namespace lowhiss::cli {

CommandLine::CommandLine()
    : app("Reads a preamp board as text and says how it responds and how much it hisses.",
          "lowhiss") {
    app.set_version_flag("--version", version_text());
    app.require_subcommand(1);
    app.footer(
        "Exit status: 0 done; 1 a limit or baseline is not met; 2 wrong usage or a file\n"
        "that cannot be used; 3 the circuit has no unique solution. A tolerance run that\n"
        "is interrupted reports what it has and ends by the signal: 130 or 143.");
    add_sweep(app, sweep);
    add_check(app, check);
    add_compare(app, compare);
    add_tolerance(app, tolerance);
    add_supply(app, supply);
    add_report(app, report);
    add_inspect(app, inspect);
    add_describe(app, describe);
}

}  // namespace lowhiss::cli
