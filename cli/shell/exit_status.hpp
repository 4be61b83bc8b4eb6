#pragma once

#include <stdexcept>

namespace lowhiss::cli {

/// The exit statuses, an interface of the command. Never reuse one.
enum ExitStatus { done = 0, not_met = 1, unusable = 2, no_solution = 3 };

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
