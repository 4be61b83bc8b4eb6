#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss::cli {

/// Throws UsageError if an output would replace an input, or if two outputs are one file. Empty
/// names and "-" are ignored. Every command that writes files calls it once its files are read,
/// with all of them (CommonOptions::files).
void keep_apart(const std::vector<std::string>& outputs, const std::vector<std::string>& inputs);

/// Equal for all paths that lead to one file: its device and inode, or those of its folder and its
/// name if there is no such file yet.
std::string file_identity(const std::string& path);

/// Writes a file whole or not at all: a new file in the same folder is renamed to it. "-" is
/// standard output; it, devices, pipes and open descriptors (/dev/fd/3) are written directly. A
/// read-only file is not replaced. Throws UsageError.
void write_output(const std::string& path, std::string_view content);

/// The same in pieces, for what would take too much memory as one.
using Sink = std::function<void(std::string_view piece)>;
void write_pieces(const std::string& path, const std::function<void(const Sink&)>& produce);

/// The same by a function that is given a descriptor of a new, empty file in which it may seek, and
/// that returns 0 or the number of an error; EINTR if it gives up as signal_waits(). What cannot be
/// sought, as standard output, gets a copy of a temporary file.
void write_seekable(const std::string& path, const std::function<int(int file)>& fill);

/// Whether Ctrl-C or the like came while a file is written, which holds it back: the function that
/// fills it should end, so that the new file is removed before the signal ends the program.
bool signal_waits();

}  // namespace lowhiss::cli
