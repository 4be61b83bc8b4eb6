#pragma once

#include <spdlog/logger.h>

#include <memory>

#include "command/options.hpp"

namespace lowhiss::cli {

/// Standard error: warnings; everything with --verbose, errors only with --quiet.
std::shared_ptr<spdlog::logger> make_logger(const CommonOptions& options);

}  // namespace lowhiss::cli
