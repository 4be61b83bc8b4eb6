#include "command/describe.hpp"

#include <CLI/CLI.hpp>

#include "shell/completion.hpp"
#include "shell/man_page.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

/// CLI11 has the choices in the type name, as "TEXT:{a,b,c}".
std::vector<std::string> choices_of(const std::string& type_name) {
    const auto open = type_name.find('{');
    if (open == std::string::npos || type_name.back() != '}') return {};
    return CLI::detail::split(type_name.substr(open + 1, type_name.size() - open - 2), ',');
}

OptionText text_of(const CLI::Option& option) {
    OptionText text;
    const bool is_operand = option.get_positional();
    text.name = is_operand ? option.get_name(true) : "--" + option.get_lnames().front();
    text.about = option.get_description();
    text.preset = option.get_default_str();
    text.required = option.get_required();
    text.repeats = option.get_items_expected_max() > 1;
    const bool is_flag = !is_operand && option.get_items_expected_max() == 0;
    if (is_flag) return text;
    text.choices = choices_of(option.get_type_name());
    const auto words = option.get_type_name().find_first_of(":{ ");
    text.value = is_operand ? text.name : option.get_type_name().substr(0, words);
    return text;
}

std::vector<OptionText> visible_options(const CLI::App& command, bool operands) {
    std::vector<OptionText> list;
    for (const CLI::Option* option : command.get_options()) {
        const bool hidden = option->get_group().empty();
        if (!hidden && option->get_positional() == operands) list.push_back(text_of(*option));
    }
    return list;
}

Definition definition_of(const CLI::App& app) {
    Definition definition{
        app.get_name(), app.get_description(), exit_statuses, visible_options(app, false), {}};
    for (const CLI::App* command : app.get_subcommands({})) {
        definition.commands.push_back({command->get_name(), command->get_description(),
                                       visible_options(*command, true),
                                       visible_options(*command, false)});
    }
    return definition;
}

}  // namespace

void add_describe(CLI::App& app, DescribeOptions& options) {
    CLI::App* command = app.add_subcommand(
        "describe", "print the manual page, or the completion script of a shell");
    command->add_option("WHAT", options.what, "man, bash, zsh or fish")
        ->required()
        ->check(CLI::IsMember({"man", "bash", "zsh", "fish"}));
    command->add_option("--output", options.output, "output file; - is standard output")
        ->type_name("FILE")
        ->capture_default_str();
}

ExitStatus run_describe(const CLI::App& app, const DescribeOptions& options) {
    const Definition definition = definition_of(app);
    const auto write = [&] {
        if (options.what == "man") return man_page(definition);
        if (options.what == "bash") return bash_completion(definition);
        if (options.what == "zsh") return zsh_completion(definition);
        return fish_completion(definition);
    };
    write_output(options.output, write());
    return done;
}

}  // namespace lowhiss::cli
