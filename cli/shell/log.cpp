#include "shell/log.hpp"

#include <spdlog/sinks/ansicolor_sink.h>

#include "lowhiss/solver/solver.hpp"

namespace lowhiss::cli {

std::shared_ptr<spdlog::logger> make_logger(const CommonOptions& options) {
    const auto color =
        wants_color(options.color, stderr) ? spdlog::color_mode::always : spdlog::color_mode::never;
    auto sink = std::make_shared<spdlog::sinks::ansicolor_stderr_sink_mt>(color);
    auto logger = std::make_shared<spdlog::logger>("lowhiss", std::move(sink));
    logger->set_pattern("%^%l%$: %v");
    logger->set_level(options.quiet     ? spdlog::level::err
                      : options.verbose ? spdlog::level::debug
                                        : spdlog::level::warn);
    return logger;
}

FileReader logging(FileReader reader, std::shared_ptr<spdlog::logger> log) {
    return [reader = std::move(reader), log = std::move(log)](const std::string& path) {
        auto content = reader(path);
        if (const auto* text = std::get_if<std::string>(&content)) {
            log->debug("read {}: {} bytes", path, text->size());
        }
        return content;
    };
}

void log_solutions(const SolverAccount& account, std::string_view what, spdlog::logger& log) {
    log.debug(
        "{}: {} factorisations, {} by the pivoting path, {} in extended precision, {} solutions, "
        "backward error at most {:.1e}",
        what, account.factorisations, account.fallbacks, account.extended, account.solutions,
        account.worst_backward_error);
}

}  // namespace lowhiss::cli
