#include "lowhiss/measure/jobs.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>
#include <vector>

namespace lowhiss {

void on_all_cores(std::size_t count, const std::function<void(std::size_t)>& job) {
    on_all_cores_until([] { return false; }, count, job);
}

std::size_t on_all_cores_until(const std::function<bool()>& stop, std::size_t count,
                               const std::function<void(std::size_t)>& job) {
    std::vector<std::exception_ptr> failures(count);
    // A thread that has taken a number does its job, so that the jobs done have no gap.
    std::atomic<std::size_t> next{0};
    const auto work = [&] {
        while (!stop()) {
            const std::size_t k = next++;
            if (k >= count) return;
            try {
                job(k);
            } catch (...) {
                failures[k] = std::current_exception();
            }
        }
    };
    const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
    {
        std::vector<std::jthread> others;
        for (std::size_t k = 1; k < std::min(cores, count); ++k) others.emplace_back(work);
        work();
    }
    for (const std::exception_ptr& failure : failures) {
        if (failure) std::rethrow_exception(failure);
    }
    return std::min<std::size_t>(next, count);
}

}  // namespace lowhiss
