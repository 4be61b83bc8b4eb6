#include "shell/version.hpp"

#include "commit.hpp"  // written by commit.cmake when the command is built

namespace lowhiss::cli {

std::string version_text() {
    const std::string commit = LOWHISS_COMMIT;
    const std::string release = "lowhiss " LOWHISS_VERSION;
    return commit.empty() ? release : release + " (commit " + commit + ")";
}

}  // namespace lowhiss::cli
