#include "command/command_line.hpp"

#include <fmt/format.h>

#include "shell/names.hpp"
#include "shell/version.hpp"

namespace lowhiss::cli {

CommandLine::CommandLine()
    : app("Computes response, noise, headroom and stability of a preamp board from a text file",
          "lowhiss") {
    app.set_version_flag("--version", version_text());
    app.require_subcommand(1);
    app.footer(std::string("Exit status:\n") + exit_statuses);
    add_sweep(app, sweep);
    add_check(app, check);
    add_compare(app, compare);
    add_tolerance(app, tolerance);
    add_choose(app, choose);
    add_supply(app, supply);
    add_listen(app, listen);
    add_report(app, report);
    add_inspect(app, inspect);
    add_match(app, match);
    add_draft(app, draft);
    add_fit(app, fit);
    add_list(app, list);
    add_describe(app, describe);
}

std::vector<std::string> with_new_names(std::vector<std::string> arguments) {
    for (std::size_t k = 0; k < arguments.size(); ++k) {
        std::string& name = arguments[k];
        constexpr std::string_view standard_output = "/dev/stdout";
        const bool after_option = k > 0 && arguments[k - 1].starts_with("--");
        const bool in_option = name.starts_with("--") && name.ends_with("=/dev/stdout");
        if ((after_option && name == standard_output) || in_option) {
            name.replace(name.size() - standard_output.size(), standard_output.size(), "-");
        }
        const bool joined = name.starts_with("--straying=");
        const bool has_value = joined || k + 1 < arguments.size();
        if (!has_value || (!joined && name != "--straying")) continue;
        std::string value = joined ? name.substr(name.find('=') + 1) : arguments[k + 1];
        if (value == "even") value = "uniform";
        fmt::print(stderr, "lowhiss: note: --straying is now --spread {}\n", for_terminal(value));
        name = joined ? "--spread=" + value : "--spread";
        if (!joined) arguments[k + 1] = value;
    }
    return arguments;
}

}  // namespace lowhiss::cli
