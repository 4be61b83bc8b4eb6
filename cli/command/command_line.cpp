#include "command/command_line.hpp"

#include "shell/version.hpp"

namespace lowhiss::cli {

CommandLine::CommandLine()
    : app("Computes response, noise, headroom and stability of a preamp board from a text file.",
          "lowhiss") {
    app.set_version_flag("--version", version_text());
    app.require_subcommand(1);
    app.footer(
        "Exit status:\n"
        "  0  done\n"
        "  1  a limit, baseline, supply or yield fails; check and tolerance: the board oscillates\n"
        "  2  wrong usage, or a file that cannot be read or written\n"
        "  3  a figure cannot be computed: no unique solution, or the figure does not exist\n"
        "A tolerance run that is interrupted reports the boards it has finished and ends by the\n"
        "signal: 130 or 143.");
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
