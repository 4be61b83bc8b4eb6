#include "write/output.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <climits>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <optional>
#include <set>

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

using Produce = std::function<void(const Sink&)>;
using Fill = std::function<int(int file)>;

/// Writes every piece, or those before the first error; returns 0 or its number.
int write_pieces_to(int file, const Produce& produce) {
    int error = 0;
    produce([&](std::string_view piece) {
        if (error == 0) error = write_all(file, piece);
    });
    return error;
}

void write_straight(const std::string& path, const Produce& produce) {
    const int file = ::open(path.c_str(), O_WRONLY | O_CLOEXEC);
    if (file < 0) fail(path, errno);
    const int error = write_pieces_to(file, produce);
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

/// A template for mkstemp in the folder of the file: its name and six letters, shortened if it
/// would be too long for the file system.
std::string fresh_name(const std::string& path) {
    constexpr std::size_t longest = NAME_MAX - 7;
    const fs::path whole = path;
    std::string name = whole.filename().string();
    if (name.size() > longest) name.resize(longest);
    return (whole.parent_path() / (name + ".XXXXXX")).string();
}

/// Whether the file may be written to. Superusers may write to all, but a file that is marked as
/// read-only is meant to stay.
int refusal_of(const std::string& path) {
    struct stat present {};
    if (::stat(path.c_str(), &present) != 0) return 0;
    constexpr mode_t writable = S_IWUSR | S_IWGRP | S_IWOTH;
    const bool allowed = (present.st_mode & writable) != 0;
    if (!allowed) return EACCES;
    return ::faccessat(AT_FDCWD, path.c_str(), W_OK, AT_EACCESS) == 0 ? 0 : errno;
}

void replace_file(const std::string& path, const Fill& fill) {
    if (const int error = refusal_of(path)) fail(path, error);
    const SignalsHeld held;
    std::string fresh = fresh_name(path);
    const int file = ::mkstemp(fresh.data());
    if (file < 0) fail(path, errno);
    int error = 0;
    try {
        error = fill(file);
    } catch (...) {
        ::close(file);
        ::unlink(fresh.c_str());
        throw;
    }
    if (error == 0 && ::fchmod(file, mode_for(path)) != 0) error = errno;
    if (error == 0 && ::fsync(file) != 0) error = errno;
    if (::close(file) != 0 && error == 0) error = errno;
    if (error == 0 && std::rename(fresh.c_str(), path.c_str()) != 0) error = errno;
    if (error == 0) return;
    ::unlink(fresh.c_str());
    fail(path, error);
}

/// The number of a descriptor that the program was given under a name such as /dev/fd/3. A file
/// behind it is written where the caller's own output stands, and not replaced.
std::optional<int> open_descriptor(std::string_view path) {
    if (path == "/dev/stdout") return STDOUT_FILENO;
    if (path == "/dev/stderr") return STDERR_FILENO;
    for (const std::string_view folder : {"/dev/fd/", "/proc/self/fd/"}) {
        if (!path.starts_with(folder)) continue;
        const std::string_view digits = path.substr(folder.size());
        int number = 0;
        const auto [end, error] =
            std::from_chars(digits.data(), digits.data() + digits.size(), number);
        const bool whole = error == std::errc() && end == digits.data() + digits.size();
        if (whole && ::fcntl(number, F_GETFD) >= 0) return number;
    }
    return std::nullopt;
}

/// Whether it is a device such as /dev/null, which holds no data to lose.
bool is_device(const std::string& path) {
    struct stat found {};
    return ::stat(path.c_str(), &found) == 0 && S_ISCHR(found.st_mode);
}

/// Whether there is a plain file, or none yet; all others are written directly.
bool is_replaceable(const std::string& path) {
    struct stat target {};
    const bool there = ::stat(path.c_str(), &target) == 0;
    if (!there && errno != ENOENT) fail(path, errno);
    if (there && S_ISDIR(target.st_mode)) fail(path, EISDIR);
    return !there || S_ISREG(target.st_mode);
}

/// The file that a link leads to, or the path itself.
std::string behind_links(const std::string& path) {
    std::error_code error;
    if (!fs::is_symlink(fs::symlink_status(path, error))) return path;
    const fs::path linked = fs::canonical(path, error);
    if (error) fail(path, error.value());
    return linked.string();
}

void write_to_open(int file, const std::string& name, const Produce& produce) {
    std::fflush(stdout);
    if (const int error = write_pieces_to(file, produce)) fail(name, error);
}

}  // namespace

std::string file_identity(const std::string& path) {
    struct stat found {};
    if (::stat(path.c_str(), &found) == 0) {
        return fmt::format("{}:{}", found.st_dev, found.st_ino);
    }
    const fs::path whole = path;
    const fs::path folder = whole.has_parent_path() ? whole.parent_path() : fs::path(".");
    if (::stat(folder.c_str(), &found) != 0) return whole.lexically_normal().string();
    return fmt::format("{}:{}/{}", found.st_dev, found.st_ino, whole.filename().string());
}

void keep_apart(const std::vector<std::string>& outputs, const std::vector<std::string>& inputs) {
    std::set<std::string> read;
    for (const std::string& input : inputs) read.insert(file_identity(input));
    std::set<std::string> written;
    for (const std::string& output : outputs) {
        if (output.empty() || output == "-" || is_device(output)) continue;
        const std::string identity = file_identity(output);
        if (read.contains(identity)) {
            throw UsageError(fmt::format(
                "'{}' is an input and would be replaced; accepted: another file", output));
        }
        if (!written.insert(identity).second) {
            throw UsageError(fmt::format("two outputs are both '{}'; accepted: two files", output));
        }
    }
}

void write_pieces(const std::string& path, const Produce& produce) {
    if (path == "-") return write_to_open(STDOUT_FILENO, "standard output", produce);
    if (const auto file = open_descriptor(path)) return write_to_open(*file, path, produce);
    if (!is_replaceable(path)) return write_straight(path, produce);
    replace_file(behind_links(path), [&](int file) { return write_pieces_to(file, produce); });
}

void write_seekable(const std::string& path, const Fill& fill) {
    const bool open_already = path == "-" || open_descriptor(path);
    if (!open_already && is_replaceable(path)) return replace_file(behind_links(path), fill);
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> copy(std::tmpfile(), &std::fclose);
    if (!copy) fail("a temporary file", errno);
    const int file = ::fileno(copy.get());
    {
        const SignalsHeld held;
        if (const int error = fill(file)) fail(path, error);
    }
    if (::lseek(file, 0, SEEK_SET) != 0) fail("a temporary file", errno);
    write_pieces(path, [&](const Sink& sink) {
        std::string piece(std::size_t{1} << 16U, '\0');
        for (ssize_t got = 1; got > 0;) {
            got = ::read(file, piece.data(), piece.size());
            if (got > 0) sink(std::string_view(piece).substr(0, static_cast<std::size_t>(got)));
        }
    });
}

bool signal_waits() {
    sigset_t waiting;
    sigemptyset(&waiting);
    sigpending(&waiting);
    return sigismember(&waiting, SIGINT) == 1 || sigismember(&waiting, SIGTERM) == 1 ||
           sigismember(&waiting, SIGHUP) == 1;
}

void write_output(const std::string& path, std::string_view content) {
    write_pieces(path, [&](const Sink& sink) { sink(content); });
}

}  // namespace lowhiss::cli
