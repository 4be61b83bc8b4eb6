#pragma once

#include <array>
#include <csignal>

namespace lowhiss::cli {

/// During its lifetime the first SIGINT or SIGTERM is only recorded; a second one of the same kind
/// ends the program. A signal that was ignored when the program started stays ignored. One object
/// at a time.
class Interruption {
  public:
    Interruption();
    ~Interruption();
    Interruption(const Interruption&) = delete;
    Interruption& operator=(const Interruption&) = delete;

    /// Whether a signal came. May be called from any thread.
    static bool came();

    /// Ends the program by the signal that came, if any: shells then report 130 or 143 and end
    /// their loops too, which they would not do for a program that merely exits with such a status.
    static void end_by_it();

  private:
    std::array<struct sigaction, 2> before_{};
};

}  // namespace lowhiss::cli
