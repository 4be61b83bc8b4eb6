#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "command/check.hpp"
#include "command/choose.hpp"
#include "command/compare.hpp"
#include "command/describe.hpp"
#include "command/draft.hpp"
#include "command/fit.hpp"
#include "command/inspect.hpp"
#include "command/list.hpp"
#include "command/listen.hpp"
#include "command/match.hpp"
#include "command/report.hpp"
#include "command/supply.hpp"
#include "command/sweep.hpp"
#include "command/tolerance.hpp"

namespace lowhiss::cli {

/// The definition of the command line and the parsed options. Help, manual page and completions
/// come from `app`.
struct CommandLine {
    CommandLine();
    CommandLine(const CommandLine&) = delete;  // `app` points at the options
    CommandLine& operator=(const CommandLine&) = delete;

    CLI::App app;
    SweepOptions sweep;
    CheckOptions check;
    CompareOptions compare;
    ToleranceOptions tolerance;
    ChooseOptions choose;
    SupplyOptions supply;
    ReportOptions report;
    InspectOptions inspect;
    MatchOptions match;
    DraftOptions draft;
    ListenOptions listen;
    FitOptions fit;
    ListOptions list;
    DescribeOptions describe;
};

/// Replaces --straying even|normal by --spread uniform|normal, with a note on standard error, and
/// /dev/stdout as the value of an option by its other name, "-".
std::vector<std::string> with_new_names(std::vector<std::string> arguments);

}  // namespace lowhiss::cli
