#include "graphviz.hpp"

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

#include "options.hpp"
#include "output.hpp"

namespace lowhiss::cli {
namespace {

struct CloseFile {
    void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

[[noreturn]] void fail(std::string_view what, int error) {
    throw UsageError(fmt::format("cannot draw: {}: {}", what, std::strerror(error)));
}

/// An unnamed file that holds the text, read from its start.
File file_with(std::string_view text) {
    File file(std::tmpfile());
    if (!file) fail("no temporary file", errno);
    if (std::fwrite(text.data(), 1, text.size(), file.get()) != text.size() ||
        std::fflush(file.get()) != 0) {
        fail("the temporary file", errno);
    }
    std::rewind(file.get());
    return file;
}

/// A child process with standard input and output of its own.
class Child {
  public:
    Child(const char* program, const char* argument, int input, int output) {
        posix_spawn_file_actions_init(&actions_);
        posix_spawn_file_actions_adddup2(&actions_, input, STDIN_FILENO);
        posix_spawn_file_actions_adddup2(&actions_, output, STDOUT_FILENO);
        std::string name = program;
        std::string first = argument;
        std::array<char*, 3> arguments{name.data(), first.data(), nullptr};
        error = posix_spawnp(&process_, program, &actions_, nullptr, arguments.data(), environ);
        posix_spawn_file_actions_destroy(&actions_);
    }

    /// Whether it ended well.
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

/// What `dot -Tsvg` prints when it reads the text. No shell: a name can do no harm.
std::string drawn(std::string_view dot_text, const std::string& format) {
    const File input = file_with(dot_text);
    std::array<int, 2> ends{};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) fail("no pipe", errno);
    const Child dot("dot", ("-T" + format).c_str(), fileno(input.get()), ends[1]);
    ::close(ends[1]);
    std::string content = dot.error == 0 ? read_all(ends[0]) : "";
    ::close(ends[0]);
    if (dot.error == ENOENT) {
        throw UsageError(
            "a drawing needs the program 'dot': install the package graphviz, or name a .dot file");
    }
    if (dot.error != 0) fail("dot", dot.error);
    if (!dot.wait() || content.empty()) throw UsageError("cannot draw: the program 'dot' failed");
    return content;
}

std::string ending_of(const std::string& path) {
    if (path == "-") return ".dot";
    std::string ending = std::filesystem::path(path).extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    return ending;
}

}  // namespace

void check_drawing_name(const std::string& path) {
    constexpr std::array known{".dot", ".svg", ".png", ".pdf"};
    if (std::find(known.begin(), known.end(), ending_of(path)) != known.end()) return;
    throw UsageError(
        fmt::format("--graph: '{}' is no drawing; accepted: a name that ends in .svg, .png, .pdf "
                    "or .dot",
                    path));
}

void write_drawing(const std::string& path, std::string_view dot_text) {
    check_drawing_name(path);
    const std::string ending = ending_of(path);
    if (ending == ".dot") return write_output(path, dot_text);
    write_output(path, drawn(dot_text, ending.substr(1)));
}

}  // namespace lowhiss::cli
