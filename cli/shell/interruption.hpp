#pragma once

#include <array>
#include <csignal>

namespace lowhiss::cli {

/// While it lives, the first SIGINT or SIGTERM is noted and no more; a second one of its kind ends
/// the program as ever. A signal that whoever started the program has had ignored stays ignored.
/// One object at a time.
class Interruption {
  public:
    Interruption();
    ~Interruption();
    Interruption(const Interruption&) = delete;
    Interruption& operator=(const Interruption&) = delete;

    /// From any thread.
    static bool came();

    /// Ends the program by the signal that came, if one did: shells then say 130 or 143, and their
    /// loops end too, as they would not had the program ended with such a status by itself.
    static void end_by_it();

  private:
    std::array<struct sigaction, 2> before_{};
};

}  // namespace lowhiss::cli
