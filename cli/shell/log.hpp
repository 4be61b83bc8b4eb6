#pragma once

#include <spdlog/logger.h>

#include <chrono>
#include <memory>
#include <string_view>

#include "lowhiss/text/file_reader.hpp"
#include "shell/console.hpp"

namespace lowhiss {
struct SolverAccount;
}

namespace lowhiss::cli {

/// Logs to standard error: warnings, with --verbose every step, with --quiet errors only.
std::shared_ptr<spdlog::logger> make_logger(const CommonOptions& options);

/// `reader`, which logs each file it reads with its size and notes it in `files`.
FileReader logging(const FileReader& reader, std::shared_ptr<spdlog::logger> log,
                   std::shared_ptr<ReadFiles> files);

/// Logs how much was solved, how often the pivoting path took over, and the worst backward error.
void log_solutions(const SolverAccount& account, std::string_view what, spdlog::logger& log);

/// Returns what `work` returns and logs how long it took.
template <class Work>
auto timed(spdlog::logger& log, std::string_view step, Work work) {
    const auto start = std::chrono::steady_clock::now();
    auto result = work();
    const std::chrono::duration<double, std::milli> elapsed =
        std::chrono::steady_clock::now() - start;
    log.debug("{}: {:.1f} ms", step, elapsed.count());
    return result;
}

}  // namespace lowhiss::cli
