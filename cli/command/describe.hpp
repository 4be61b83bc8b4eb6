#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct DescribeOptions {
    std::string what;
    std::string output = "-";
};

void add_describe(CLI::App& app, DescribeOptions& options);
ExitStatus run_describe(const CLI::App& app, const DescribeOptions& options);

/// What the command's definition says of one option or operand.
struct OptionText {
    std::string name;                  ///< "--json", or "BOARD" of an operand
    std::string value;                 ///< "FILE"; empty for a flag
    std::vector<std::string> choices;  ///< where only these are accepted
    std::string about;
    std::string preset;  ///< empty where there is none
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

struct Definition {
    std::string name;
    std::string about;
    std::string footer;
    std::vector<OptionText> options;  ///< before any command
    std::vector<CommandText> commands;
};

Definition definition_of(const CLI::App& app);

std::string man_page(const Definition& definition);
std::string bash_completion(const Definition& definition);
std::string zsh_completion(const Definition& definition);
std::string fish_completion(const Definition& definition);

}  // namespace lowhiss::cli
