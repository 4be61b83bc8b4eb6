#include "shell/progress.hpp"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>

#include "shell/console.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::chrono::milliseconds until_first{500};
constexpr std::chrono::milliseconds between{250};

/// The width to draw in: a line that wraps cannot be redrawn.
std::size_t columns() {
    winsize size{};
    const bool known = ::ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 1;
    return known ? size.ws_col - 1U : 79U;
}

void draw(const std::string& text) {
    const std::string line = "\r" + text.substr(0, columns()) + "\x1b[K";
    std::fputs(line.c_str(), stderr);
    std::fflush(stderr);
}

}  // namespace

std::string time_text(double seconds) {
    const auto s = static_cast<std::uint64_t>(std::ceil(seconds));
    if (s < 60) return fmt::format("{} s", s);
    const std::uint64_t minutes = (s + 59) / 60;
    if (minutes < 60) return fmt::format("{} min", minutes);
    return fmt::format("{} h {} min", minutes / 60, minutes % 60);
}

std::string progress_text(std::size_t done, std::size_t count, double elapsed_s, const char* what) {
    const auto finished = static_cast<double>(done);
    const auto all = static_cast<double>(count);
    std::string text =
        fmt::format("{} of {} {}, {:.0f} %", done, count, what, std::floor(100 * finished / all));
    const double left_s = elapsed_s / finished * (all - finished);
    if (done > 0 && elapsed_s > 0) text += fmt::format(", {} left", time_text(left_s));
    return text;
}

ProgressLine::ProgressLine(std::size_t count, bool quiet, const char* what)
    : count_(count),
      what_(what),
      wanted_(!quiet && draws_on(stderr)),
      next_(start_ + until_first) {}

ProgressLine::~ProgressLine() {
    if (drawn_) draw("");
}

void ProgressLine::show(std::size_t done) {
    const auto now = Clock::now();
    if (!wanted_ || now < next_) return;
    next_ = now + between;
    drawn_ = true;
    draw(progress_text(done, count_, std::chrono::duration<double>(now - start_).count(), what_));
}

}  // namespace lowhiss::cli
