#include "write/output.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail(const std::string& path, int error) {
    throw UsageError(fmt::format("cannot write '{}': {}", path, std::strerror(error)));
}

/// Returns 0 or the error number.
int write_all(int file, std::string_view content) {
    while (!content.empty()) {
        const ssize_t written = ::write(file, content.data(), content.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) return errno;
        if (written == 0) return EIO;
        content.remove_prefix(static_cast<std::size_t>(written));
    }
    return 0;
}

void write_straight(const std::string& path, std::string_view content) {
    const int file = ::open(path.c_str(), O_WRONLY | O_CLOEXEC);
    if (file < 0) fail(path, errno);
    const int error = write_all(file, content);
    if (::close(file) != 0 && error == 0) fail(path, errno);
    if (error != 0) fail(path, error);
}

/// The mode of the replaced file, or the one that a new file gets.
mode_t mode_for(const std::string& path) {
    struct stat present {};
    if (::stat(path.c_str(), &present) == 0) return present.st_mode & 07777U;
    const mode_t mask = ::umask(0);
    ::umask(mask);
    return 0666U & ~mask;
}

/// Delays Ctrl-C and the like during its lifetime, so that no temporary file is left behind.
class SignalsHeld {
  public:
    SignalsHeld() {
        sigset_t held;
        sigemptyset(&held);
        for (const int signal : {SIGINT, SIGTERM, SIGHUP}) sigaddset(&held, signal);
        pthread_sigmask(SIG_BLOCK, &held, &before_);
    }
    ~SignalsHeld() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }
    SignalsHeld(const SignalsHeld&) = delete;
    SignalsHeld& operator=(const SignalsHeld&) = delete;

  private:
    sigset_t before_{};
};

void replace_file(const std::string& path, std::string_view content) {
    const SignalsHeld held;
    std::string fresh = path + ".XXXXXX";
    const int file = ::mkstemp(fresh.data());
    if (file < 0) fail(path, errno);
    int error = write_all(file, content);
    if (error == 0 && ::fchmod(file, mode_for(path)) != 0) error = errno;
    if (error == 0 && ::fsync(file) != 0) error = errno;
    if (::close(file) != 0 && error == 0) error = errno;
    if (error == 0 && std::rename(fresh.c_str(), path.c_str()) != 0) error = errno;
    if (error == 0) return;
    ::unlink(fresh.c_str());
    fail(path, error);
}

void write_standard_output(std::string_view content) {
    std::fflush(stdout);
    if (const int error = write_all(STDOUT_FILENO, content)) fail("standard output", error);
}

}  // namespace

void keep_apart(const std::vector<std::string>& outputs, const std::vector<std::string>& inputs) {
    const auto same = [](const std::string& a, const std::string& b) {
        std::error_code error;
        return fs::weakly_canonical(fs::absolute(a)) == fs::weakly_canonical(fs::absolute(b)) ||
               fs::equivalent(a, b, error);
    };
    const auto is_file = [](const std::string& path) { return !path.empty() && path != "-"; };
    for (std::size_t k = 0; k < outputs.size(); ++k) {
        if (!is_file(outputs[k])) continue;
        for (const std::string& input : inputs) {
            if (!same(outputs[k], input)) continue;
            throw UsageError(fmt::format(
                "'{}' is an input and would be replaced; accepted: another file", outputs[k]));
        }
        for (std::size_t j = 0; j < k; ++j) {
            if (!is_file(outputs[j]) || !same(outputs[k], outputs[j])) continue;
            throw UsageError(
                fmt::format("two outputs are both '{}'; accepted: two files", outputs[k]));
        }
    }
}

void write_output(const std::string& path, std::string_view content) {
    if (path == "-") return write_standard_output(content);
    std::error_code error;
    fs::path target = path;
    if (fs::is_symlink(fs::symlink_status(path, error))) {
        target = fs::canonical(path, error);
        if (error) fail(path, error.value());
    }
    const auto status = fs::status(target, error);
    if (fs::is_directory(status)) fail(path, EISDIR);
    if (fs::exists(status) && !fs::is_regular_file(status)) return write_straight(path, content);
    replace_file(target.string(), content);
}

}  // namespace lowhiss::cli
