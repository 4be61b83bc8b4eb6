#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lowhiss::cli {

/// A program that draws for us, and the package to install where it is missing.
struct Program {
    std::string name;
    std::string package;
    std::string otherwise;  ///< what else a user can do: ", or ..."; may be empty
};

/// What a program prints when it reads the text from its standard input. No shell: a name can do no
/// harm. Throws UsageError where there is no such program, and where it fails or prints nothing.
std::string output_of(const Program& program, const std::vector<std::string>& arguments,
                      std::string_view input);

/// The ending of a file's name in small letters, with its dot.
std::string ending_of(const std::string& path);

}  // namespace lowhiss::cli
