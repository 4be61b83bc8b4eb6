#include "shell/log.hpp"

#include <spdlog/sinks/ansicolor_sink.h>

#include "shell/console.hpp"

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

}  // namespace lowhiss::cli
