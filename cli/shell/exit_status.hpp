#pragma once

#include <stdexcept>

namespace lowhiss::cli {

/// The exit statuses, an interface of the command. Never reuse one.
enum ExitStatus { done = 0, not_met = 1, unusable = 2, no_solution = 3 };

/// The exit statuses for the help and the manual page.
inline constexpr const char* exit_statuses =
    "  0  done\n"
    "  1  a limit, baseline, supply or yield fails; the board is unstable (check and\n"
    "     tolerance); the board and the data differ (match); no set of values meets\n"
    "     the limits (choose)\n"
    "  2  wrong usage, or a file that cannot be read or written\n"
    "  3  a figure cannot be computed: no unique solution, or the figure does not exist\n"
    "A tolerance run that is interrupted reports the boards that it has finished and\n"
    "ends by the signal: 130 or 143.";

/// A wrong option or a file that cannot be written; the text says what to do.
class UsageError : public std::runtime_error {
  public:
    using std::runtime_error::runtime_error;
};

/// Thrown once the errors are printed: only the exit status is left to report.
struct Silent {
    ExitStatus status;
};

}  // namespace lowhiss::cli
