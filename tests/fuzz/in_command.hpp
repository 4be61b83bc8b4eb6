#pragma once

#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>

#include "lowhiss/text/diagnostic.hpp"
#include "shell/exit_status.hpp"

namespace lowhiss::test {

/// A folder in memory for the files of one fuzzer.
inline std::string fuzz_folder() {
    std::string name = "/dev/shm/lowhiss-fuzz-XXXXXX";
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    return name;
}

inline void write_file(const std::string& path, std::string_view content) {
    std::ofstream(path, std::ios::binary) << content;
}

/// Runs a command as main does; a refusal is as good as a result.
template <class Run>
void as_command(Run run) {
    try {
        run();
    } catch (const cli::UsageError&) {
        return;
    } catch (const cli::Silent&) {
        return;
    } catch (const Error&) {
        return;
    }
}

}  // namespace lowhiss::test
