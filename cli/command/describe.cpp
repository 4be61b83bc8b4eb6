#include "command/describe.hpp"

#include <array>

#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

/// The library shows the choices as "TEXT:{a,b,c}" where it shows the kind of value.
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

}  // namespace

void add_describe(CLI::App& app, DescribeOptions& options) {
    CLI::App* command = app.add_subcommand(
        "describe", "the manual page of this command, or its completion for a shell");
    command->add_option("WHAT", options.what, "man, bash, zsh or fish")
        ->required()
        ->check(CLI::IsMember({"man", "bash", "zsh", "fish"}));
    command->add_option("--output", options.output, "where to; - is standard output")
        ->type_name("FILE")
        ->capture_default_str();
}

Definition definition_of(const CLI::App& app) {
    Definition definition{app.get_name(), app.get_description(), app.get_footer(), {}, {}};
    for (const CLI::Option* option : app.get_options()) {
        definition.options.push_back(text_of(*option));
    }
    for (const CLI::App* command : app.get_subcommands({})) {
        CommandText text{command->get_name(), command->get_description(), {}, {}};
        for (const CLI::Option* option : command->get_options()) {
            auto& list = option->get_positional() ? text.operands : text.options;
            list.push_back(text_of(*option));
        }
        definition.commands.push_back(std::move(text));
    }
    return definition;
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
