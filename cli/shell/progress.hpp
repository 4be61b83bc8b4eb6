#pragma once

#include <chrono>
#include <cstddef>
#include <string>

namespace lowhiss::cli {

/// "31 of 200 boards, 15 %, 12 s left"; `what` is what is counted. The time assumes the rate so
/// far, and is left out before the first board is finished.
std::string progress_text(std::size_t done, std::size_t count, double elapsed_s,
                          const char* what = "boards");

/// "12 s", "3 min" or "2 h 5 min": rounded up.
std::string time_text(double seconds);

/// One line on standard error, redrawn at most four times a second, first after half a second, and
/// cleared at the end. Nothing is drawn if standard error is not a terminal.
class ProgressLine {
  public:
    ProgressLine(std::size_t count, bool quiet, const char* what = "boards");
    ~ProgressLine();
    ProgressLine(const ProgressLine&) = delete;
    ProgressLine& operator=(const ProgressLine&) = delete;

    /// Call from one thread at a time.
    void show(std::size_t done);

  private:
    using Clock = std::chrono::steady_clock;

    std::size_t count_;
    const char* what_;
    bool wanted_;
    bool drawn_ = false;
    Clock::time_point start_ = Clock::now();
    Clock::time_point next_;
};

}  // namespace lowhiss::cli
