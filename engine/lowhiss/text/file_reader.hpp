#pragma once

#include <concepts>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <variant>

namespace lowhiss {

struct Unreadable {
    std::string reason;
};

/// How the engine reads files, given by its caller: returns the text of a path, or why there is
/// none. A function of a path will do. One file may have several names, by links for example; a
/// reader that can tell also has a function that identifies the file of a name.
class FileReader {
  public:
    using Content = std::variant<std::string, Unreadable>;
    using Read = std::function<Content(const std::string& path)>;
    using Identify = std::function<std::string(const std::string& path)>;

    FileReader(Read read, Identify identify)
        : read_(std::move(read)), identify_(std::move(identify)) {}
    template <class Function>
    requires(!std::same_as<Function, FileReader>) && std::convertible_to<Function, Read> FileReader(
                                                         Function read)
        : FileReader(Read(std::move(read)), as_written) {}

    Content operator()(const std::string& path) const { return read_(path); }

    /// Equal for all names of one file.
    std::string identity(const std::string& path) const { return identify_(path); }

    /// A reader of the same files that reads by another function.
    FileReader reading(Read read) const { return {std::move(read), identify_}; }

  private:
    static std::string as_written(const std::string& path);

    Read read_;
    Identify identify_;
};

/// The largest size of all files of one board together, and of any one of them.
inline constexpr std::uintmax_t most_file_bytes = std::uintmax_t{4} << 20U;

/// Why there is no plain file of at most so many bytes at the path; nothing if there is one.
std::optional<Unreadable> obstacle_to_reading(const std::string& path, std::uintmax_t most_bytes);

/// Reads whole files from the file system; refuses directories, devices and files that are too
/// large. Files are known by device and inode.
FileReader disk_reader(std::uintmax_t most_bytes = most_file_bytes);

/// A reader that refuses further files once it has returned so many bytes. Copies share the count.
FileReader within_budget(const FileReader& reader, std::uintmax_t most_bytes = most_file_bytes);

}  // namespace lowhiss
