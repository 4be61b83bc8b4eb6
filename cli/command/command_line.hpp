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

/// The command's own definition, and what was asked of it. Help, man page and completions are all
/// made of `app`.
struct CommandLine {
    CommandLine();
    CommandLine(const CommandLine&) = delete;  // `app` knows where the options are
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
