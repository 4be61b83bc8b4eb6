#pragma once

#include <cstddef>
#include <functional>

namespace lowhiss {

/// Calls job(0) ... job(count - 1), each once, on all cores of the machine. What the jobs write
/// must not overlap. Of several exceptions the one of the lowest number is thrown, after all are
/// done.
void on_all_cores(std::size_t count, const std::function<void(std::size_t)>& job);

/// The same, but no job begins once `stop`, which any thread may call, has said true. Returns how
/// many were done; they are the first ones.
std::size_t on_all_cores_until(const std::function<bool()>& stop, std::size_t count,
                               const std::function<void(std::size_t)>& job);

}  // namespace lowhiss
