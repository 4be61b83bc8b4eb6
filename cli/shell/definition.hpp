#pragma once

#include <string>
#include <vector>

namespace lowhiss::cli {

/// One option or operand, as the command defines it.
struct OptionText {
    std::string name;                  ///< "--json", or "BOARD" for an operand
    std::string value;                 ///< "FILE"; empty for a flag
    std::vector<std::string> choices;  ///< the accepted values; empty: any
    std::string about;
    std::string preset;  ///< empty: there is no default
    bool required = false;
    bool repeats = false;

    bool takes_file() const { return value.starts_with("FILE") || value == "BOARD"; }
};

struct CommandText {
    std::string name;
    std::string about;
    std::vector<OptionText> operands;
    std::vector<OptionText> options;
};

/// The whole command line: manual page and completions are made from it.
struct Definition {
    std::string name;
    std::string about;
    std::string exit_statuses;
    std::vector<OptionText> options;  ///< before any command
    std::vector<CommandText> commands;
};

}  // namespace lowhiss::cli
