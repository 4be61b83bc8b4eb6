#include "shell/console.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>

namespace lowhiss::cli {
namespace {

bool is_set(const char* variable) {
    const char* value = std::getenv(variable);
    return value != nullptr && *value != '\0';
}

}  // namespace

bool wants_color(const std::string& choice, std::FILE* stream) {
    if (choice == "always") return true;
    if (choice == "never" || is_set("NO_COLOR")) return false;
    return draws_on(stream);
}

bool draws_on(std::FILE* stream) {
    const char* terminal = std::getenv("TERM");
    const bool dumb = terminal == nullptr || std::string_view(terminal) == "dumb";
    return !dumb && isatty(fileno(stream)) != 0;
}

void print_diagnostic(const Diagnostic& diagnostic, const std::string& color) {
    std::string text = to_text(diagnostic);
    const bool is_error = diagnostic.severity == Severity::error;
    const std::string_view word = is_error ? "error:" : "warning:";
    const auto at = text.find(word);
    if (wants_color(color, stderr) && at != std::string::npos) {
        text.insert(at + word.size(), "\x1b[0m");
        text.insert(at, is_error ? "\x1b[1;31m" : "\x1b[1;33m");
    }
    std::fputs(text.c_str(), stderr);
}

void print_diagnostics(const Diagnostics& diagnostics, bool quiet, const std::string& color) {
    constexpr std::size_t most_printed = 100;
    std::size_t wanted = 0;
    for (const Diagnostic& d : diagnostics) {
        if (quiet && d.severity == Severity::warning) continue;
        if (++wanted <= most_printed) print_diagnostic(d, color);
    }
    if (wanted > most_printed) fmt::print(stderr, "... and {} more\n", wanted - most_printed);
}

}  // namespace lowhiss::cli
