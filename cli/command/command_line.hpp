#pragma once

#include <CLI/CLI.hpp>

#include "command/check.hpp"
#include "command/compare.hpp"
#include "command/describe.hpp"
#include "command/inspect.hpp"
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
    SupplyOptions supply;
    ReportOptions report;
    InspectOptions inspect;
    DescribeOptions describe;
};

}  // namespace lowhiss::cli
