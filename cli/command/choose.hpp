#pragma once

#include <string>

#include "command/options.hpp"
#include "shell/log.hpp"
#include "write/choose_report.hpp"

namespace lowhiss::cli {

struct ChooseOptions {
    CommonOptions common;
    std::string board;
    std::size_t best = 5;
    std::size_t boards = 0;
    std::size_t starts = 32;
    SeriesOptions series;
    std::string json;
    std::string apply;
};

/// Throws UsageError for a board without [choose], or with too many sets of values.
void check_choosable(const Board& board);

/// The best sets of values and their figures, without yields. Says how long it takes, unless
/// `quiet`. `board` must outlive the report.
ChooseReport chosen_values(const Board& board, const ChooseRequest& request, bool quiet,
                           spdlog::logger& log);

void add_choose(CLI::App& app, ChooseOptions& options);
ExitStatus run_choose(const ChooseOptions& options);

}  // namespace lowhiss::cli
