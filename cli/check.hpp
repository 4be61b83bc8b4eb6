#pragma once

#include "lowhiss/measure/check.hpp"
#include "options.hpp"

namespace lowhiss::cli {

struct CheckOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::string json;
    std::string junit;
};

/// What came of one board: verdicts, or why there are none.
struct CheckedBoard {
    std::string path;
    std::string name;
    std::string revision;
    std::vector<Verdict> verdicts;
    std::string trouble;  ///< the diagnostics of a board that could not be read
    ExitStatus status = done;
};

void add_check(CLI::App& app, CheckOptions& options);
ExitStatus run_check(const CheckOptions& options);

// The writers of a check; each returns the whole text.
std::string check_table(const std::vector<CheckedBoard>& boards, bool bold);
std::string check_json(const std::vector<CheckedBoard>& boards);
std::string check_junit(const std::vector<CheckedBoard>& boards);

/// "EIN at 100 %, variant condenser": where a verdict was taken.
std::string place_text(const Verdict& verdict);

/// A figure in its unit, rounded for people; a dash where there is none.
std::string figure_text(double value, Unit unit);

}  // namespace lowhiss::cli
