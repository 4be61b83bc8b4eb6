#include "shell/interruption.hpp"

#include <atomic>

namespace lowhiss::cli {
namespace {

constexpr std::array<int, 2> signals{SIGINT, SIGTERM};

// A signal handler may touch nothing else, so this is not a member.
std::atomic<int> signal_that_came{0};
static_assert(std::atomic<int>::is_always_lock_free);

void note(int number) {
    signal_that_came = number;
}

}  // namespace

Interruption::Interruption() {
    signal_that_came = 0;
    struct sigaction action {};
    action.sa_handler = note;
    action.sa_flags = static_cast<int>(SA_RESETHAND) | SA_RESTART;
    for (std::size_t k = 0; k < signals.size(); ++k) {
        ::sigaction(signals[k], nullptr, &before_[k]);
        if (before_[k].sa_handler != SIG_IGN) ::sigaction(signals[k], &action, nullptr);
    }
}

Interruption::~Interruption() {
    for (std::size_t k = 0; k < signals.size(); ++k) ::sigaction(signals[k], &before_[k], nullptr);
}

bool Interruption::came() {
    return signal_that_came != 0;
}

void Interruption::end_by_it() {
    if (!came()) return;
    std::signal(signal_that_came, SIG_DFL);
    std::raise(signal_that_came);
}

}  // namespace lowhiss::cli
