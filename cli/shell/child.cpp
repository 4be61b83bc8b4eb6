#include "shell/child.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>

#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

struct CloseFile {
    void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

[[noreturn]] void fail_to_run(std::string_view what, int error) {
    throw UsageError(fmt::format("cannot draw: {}: {}", what, std::strerror(error)));
}

/// An unnamed file that holds the text, read from its start.
File file_with(std::string_view text) {
    File file(std::tmpfile());
    if (!file) fail_to_run("temporary file", errno);
    if (std::fwrite(text.data(), 1, text.size(), file.get()) != text.size() ||
        std::fflush(file.get()) != 0) {
        fail_to_run("temporary file", errno);
    }
    std::rewind(file.get());
    return file;
}

std::vector<char*> pointers_to(std::vector<std::string>& words) {
    std::vector<char*> pointers;
    pointers.reserve(words.size() + 1);
    for (std::string& word : words) pointers.push_back(word.data());
    pointers.push_back(nullptr);
    return pointers;
}

/// The environment with a UTF-8 locale, without which gnuplot has no degree sign.
std::vector<std::string> environment() {
    std::vector<std::string> variables{"LC_ALL=C.UTF-8"};
    for (char** variable = environ; *variable != nullptr; ++variable) {
        if (!std::string_view(*variable).starts_with("LC_ALL=")) variables.emplace_back(*variable);
    }
    return variables;
}

/// A child process with its own standard streams.
class Child {
  public:
    Child(const Program& program, const std::vector<std::string>& arguments, int input, int output,
          int messages) {
        posix_spawn_file_actions_init(&actions_);
        posix_spawn_file_actions_adddup2(&actions_, input, STDIN_FILENO);
        posix_spawn_file_actions_adddup2(&actions_, output, STDOUT_FILENO);
        posix_spawn_file_actions_adddup2(&actions_, messages, STDERR_FILENO);
        std::vector<std::string> words{program.name};
        words.insert(words.end(), arguments.begin(), arguments.end());
        std::vector<std::string> variables = environment();
        error = posix_spawnp(&process_, program.name.c_str(), &actions_, nullptr,
                             pointers_to(words).data(), pointers_to(variables).data());
        posix_spawn_file_actions_destroy(&actions_);
    }

    /// Waits for the end; false if it failed or was killed.
    bool wait() const {
        int status = 0;
        while (::waitpid(process_, &status, 0) < 0) {
            if (errno != EINTR) return false;
        }
        return WIFEXITED(status) && WEXITSTATUS(status) == 0;
    }

    int error = 0;

  private:
    posix_spawn_file_actions_t actions_{};
    pid_t process_ = 0;
};

std::string read_all(int file) {
    std::string content;
    std::array<char, 65536> buffer{};
    for (;;) {
        const ssize_t count = ::read(file, buffer.data(), buffer.size());
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) return content;
        content.append(buffer.data(), static_cast<std::size_t>(count));
    }
}

/// The last line that is not empty: programs end with what stopped them.
std::string last_line(std::FILE* file) {
    std::rewind(file);
    const std::string all = read_all(fileno(file));
    std::string_view text = all;
    while (text.ends_with('\n')) text.remove_suffix(1);
    const auto begin = text.rfind('\n');
    return std::string(begin == std::string_view::npos ? text : text.substr(begin + 1));
}

}  // namespace

std::string output_of(const Program& program, const std::vector<std::string>& arguments,
                      std::string_view input) {
    const File in = file_with(input);
    const File messages = file_with("");
    std::array<int, 2> ends{};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) fail_to_run("pipe", errno);
    const Child child(program, arguments, fileno(in.get()), ends[1], fileno(messages.get()));
    ::close(ends[1]);
    std::string content = child.error == 0 ? read_all(ends[0]) : "";
    ::close(ends[0]);
    if (child.error == ENOENT) {
        throw UsageError(fmt::format("drawing needs the program '{}': install the package {}{}",
                                     program.name, program.package, program.otherwise));
    }
    if (child.error != 0) fail_to_run(program.name, child.error);
    if (!child.wait() || content.empty()) {
        const std::string reason = last_line(messages.get());
        throw UsageError(fmt::format("cannot draw: the program '{}' failed{}{}", program.name,
                                     reason.empty() ? "" : ": ", reason));
    }
    return content;
}

std::string ending_of(const std::string& path) {
    std::string ending = std::filesystem::path(path).extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    return ending;
}

}  // namespace lowhiss::cli
