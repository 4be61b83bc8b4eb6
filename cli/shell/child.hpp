#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lowhiss::cli {

/// A drawing program, and the package to install if it is missing.
struct Program {
    std::string name;
    std::string package;
    std::string otherwise;  ///< an alternative for the user: ", or ..."; may be empty
};

/// Returns what the program prints for `input` on its standard input. It is started without a
/// shell, so that names need no quoting. Throws UsageError if there is no such program, and if it
/// fails or prints nothing, with its last message. Other messages, mostly warnings, are dropped.
std::string output_of(const Program& program, const std::vector<std::string>& arguments,
                      std::string_view input);

/// The extension of a file name in lower case, with its dot.
std::string ending_of(const std::string& path);

}  // namespace lowhiss::cli
