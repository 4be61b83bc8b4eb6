#include "command/named_board.hpp"

#include <fmt/format.h>

#include <filesystem>

#include "shell/exit_status.hpp"

namespace lowhiss::cli {

NamedBoard named_board(const std::string& text) {
    std::error_code error;
    const auto last = text.rfind('@');
    if (last == std::string::npos || std::filesystem::exists(text, error)) return {text, ""};
    auto at = last;
    for (auto k = last; k != std::string::npos && k > 0; k = text.rfind('@', k - 1)) {
        if (std::filesystem::exists(text.substr(0, k), error)) at = k;
    }
    if (at + 1 == text.size()) {
        throw UsageError(
            fmt::format("'{}' has no variant after the @; accepted: BOARD@NAME", text));
    }
    return {text.substr(0, at), text.substr(at + 1)};
}

std::string board_label(std::size_t k) {
    return k < 26 ? std::string(1, static_cast<char>('A' + k)) : std::to_string(k + 1);
}

}  // namespace lowhiss::cli
