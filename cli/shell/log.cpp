#include "shell/log.hpp"

#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/ansicolor_sink.h>

#include "lowhiss/solver/solver.hpp"
#include "shell/names.hpp"

namespace lowhiss::cli {
namespace {

/// Messages hold names from outside.
class PrintableFormatter : public spdlog::formatter {
  public:
    void format(const spdlog::details::log_msg& message, spdlog::memory_buf_t& out) override {
        spdlog::details::log_msg shown = message;
        const std::string text = for_terminal({message.payload.data(), message.payload.size()});
        shown.payload = text;
        pattern_.format(shown, out);
        message.color_range_start = shown.color_range_start;
        message.color_range_end = shown.color_range_end;
    }
    std::unique_ptr<spdlog::formatter> clone() const override {
        return std::make_unique<PrintableFormatter>();
    }

  private:
    spdlog::pattern_formatter pattern_{"%^%l%$: %v"};
};

}  // namespace

std::shared_ptr<spdlog::logger> make_logger(const CommonOptions& options) {
    const auto color =
        wants_color(options.color, stderr) ? spdlog::color_mode::always : spdlog::color_mode::never;
    auto sink = std::make_shared<spdlog::sinks::ansicolor_stderr_sink_mt>(color);
    auto logger = std::make_shared<spdlog::logger>("lowhiss", std::move(sink));
    logger->set_formatter(std::make_unique<PrintableFormatter>());
    logger->set_level(options.quiet     ? spdlog::level::err
                      : options.verbose ? spdlog::level::debug
                                        : spdlog::level::warn);
    return logger;
}

FileReader logging(const FileReader& reader, std::shared_ptr<spdlog::logger> log,
                   std::shared_ptr<ReadFiles> files) {
    return reader.reading(
        [reader, log = std::move(log), files = std::move(files)](const std::string& path) {
            files->push_back(path);
            auto content = reader(path);
            if (const auto* text = std::get_if<std::string>(&content)) {
                log->debug("read {}: {} bytes", path, text->size());
            }
            return content;
        });
}

void log_solutions(const SolverAccount& account, std::string_view what, spdlog::logger& log) {
    log.debug(
        "{}: {} factorisations, {} by the pivoting path, {} in extended precision, {} solutions, "
        "backward error at most {:.1e}",
        what, account.factorisations, account.fallbacks, account.extended, account.solutions,
        account.worst_backward_error);
}

}  // namespace lowhiss::cli
