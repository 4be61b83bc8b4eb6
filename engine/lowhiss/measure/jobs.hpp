#pragma once

#include <cstddef>
#include <functional>

namespace lowhiss {

/// Calls job(0) ... job(count - 1), each once, on all cores of the machine. The jobs must not write
/// to the same places. If several jobs throw, the exception of the lowest number is thrown, after
/// all jobs are done.
void on_all_cores(std::size_t count, const std::function<void(std::size_t)>& job);

/// The same, but no job begins after `stop`, which any thread may call, has returned true. Returns
/// the number of jobs done; they are the first ones.
std::size_t on_all_cores_until(const std::function<bool()>& stop, std::size_t count,
                               const std::function<void(std::size_t)>& job);

}  // namespace lowhiss
