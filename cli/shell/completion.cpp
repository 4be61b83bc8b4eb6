#include "shell/completion.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace lowhiss::cli {
namespace {

std::string replaced(std::string_view text, std::string_view what, std::string_view by) {
    std::string out;
    for (const char c : text) {
        if (what.find(c) == std::string_view::npos)
            out += c;
        else
            out += by;
    }
    return out;
}

std::string joined(const std::vector<std::string>& words) {
    return fmt::format("{}", fmt::join(words, " "));
}

/// Quotes a word for the shell with single quotes.
std::string shell_quoted(std::string_view text) {
    return "'" + replaced(text, "'", "'\\''") + "'";
}

template <class Item>
std::string names_of(const std::vector<Item>& items) {
    std::vector<std::string> names;
    names.reserve(items.size());
    for (const Item& item : items) names.push_back(item.name);
    return joined(names);
}

/// The case branches that complete an option's value.
std::string bash_values(const std::vector<OptionText>& options) {
    std::string text;
    for (const OptionText& option : options) {
        if (option.value.empty()) continue;
        std::string offered;
        if (!option.choices.empty())
            offered = " words='" + joined(option.choices) + "'";
        else if (option.takes_file())
            offered = " files=1";
        text += fmt::format("                {}) is_value=1{} ;;\n", option.name, offered);
    }
    return text;
}

/// Escapes brackets, colons and backslashes, which _arguments interprets.
std::string zsh_text(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (std::string_view("[]:\\").find(c) != std::string_view::npos) out += '\\';
        out += c;
    }
    return out;
}

std::string zsh_action(const OptionText& option) {
    if (!option.choices.empty()) return "(" + joined(option.choices) + ")";
    return option.takes_file() ? "_files" : " ";
}

std::string zsh_option(const OptionText& option) {
    std::string spec = option.repeats ? "*" : "";
    spec += option.name + "[" + zsh_text(option.about) + "]";
    if (!option.value.empty()) spec += ":" + zsh_text(option.value) + ":" + zsh_action(option);
    return shell_quoted(spec);
}

std::string zsh_operand(const OptionText& operand) {
    const std::string count = operand.repeats ? "*:" : ":";
    return shell_quoted(count + zsh_text(operand.about) + ":" + zsh_action(operand));
}

std::string fish_option(std::string_view condition, const OptionText& option) {
    std::string text = fmt::format("complete -c lowhiss -n {} -l {} -d {}", shell_quoted(condition),
                                   option.name.substr(2), shell_quoted(option.about));
    if (!option.choices.empty())
        text += " -x -a " + shell_quoted(joined(option.choices));
    else if (option.takes_file())
        text += " -r -F";
    else if (!option.value.empty())
        text += " -x";
    return text + "\n";
}

}  // namespace

std::string bash_completion(const Definition& definition) {
    std::string text =
        "# bash completion for lowhiss, made by 'lowhiss describe bash'\n"
        "_lowhiss() {\n"
        "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}\n"
        "    local words= files= is_value=\n"
        "    COMPREPLY=()\n"
        "    case ${COMP_WORDS[1]} in\n";
    for (const CommandText& command : definition.commands) {
        text += fmt::format("        {})\n            case $before in\n{}            esac\n",
                            command.name, bash_values(command.options));
        text += fmt::format(
            "            [ -n \"$is_value\" ] || case $word in\n"
            "                -*) words='{}' ;;\n"
            "                *) ",
            names_of(command.options));
        const auto& operands = command.operands;
        const bool chooses = !operands.empty() && !operands.front().choices.empty();
        text += chooses ? fmt::format("words='{}'", joined(operands.front().choices)) : "files=1";
        text += " ;;\n            esac\n            ;;\n";
    }
    text += "    esac\n";
    text += fmt::format("    [ \"$COMP_CWORD\" -gt 1 ] || words='{} {}' files=\n",
                        names_of(definition.commands), names_of(definition.options));
    return text +
           "    if [ -n \"$files\" ]; then\n"
           "        compopt -o filenames\n"
           "        mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n"
           "    else\n"
           "        mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$word\")\n"
           "    fi\n"
           "}\n"
           "complete -F _lowhiss lowhiss\n";
}

std::string zsh_completion(const Definition& definition) {
    std::string text =
        "#compdef lowhiss\n"
        "# zsh completion for lowhiss, made by 'lowhiss describe zsh'\n"
        "local -a commands=(\n";
    for (const CommandText& command : definition.commands) {
        text +=
            "    " + shell_quoted(zsh_text(command.name) + ":" + zsh_text(command.about)) + "\n";
    }
    text += ")\nlocal curcontext=$curcontext state line\n_arguments -C \\\n";
    for (const OptionText& option : definition.options) {
        text += "    " + zsh_option(option) + " \\\n";
    }
    text +=
        "    '1:command:->command' '*::operand:->operands'\n"
        "case $state in\n"
        "    command) _describe command commands ;;\n"
        "    operands)\n"
        "        case $line[1] in\n";
    for (const CommandText& command : definition.commands) {
        text += fmt::format("            {})\n                _arguments", command.name);
        for (const OptionText& option : command.options) {
            text += " \\\n                    " + zsh_option(option);
        }
        for (const OptionText& operand : command.operands) {
            text += " \\\n                    " + zsh_operand(operand);
        }
        text += "\n                ;;\n";
    }
    return text + "        esac\n        ;;\nesac\n";
}

std::string fish_completion(const Definition& definition) {
    std::string text =
        "# fish completion for lowhiss, made by 'lowhiss describe fish'\n"
        "complete -c lowhiss -f\n";
    for (const OptionText& option : definition.options) {
        text += fish_option("__fish_use_subcommand", option);
    }
    for (const CommandText& command : definition.commands) {
        text += fmt::format("complete -c lowhiss -n __fish_use_subcommand -a {} -d {}\n",
                            command.name, shell_quoted(command.about));
    }
    for (const CommandText& command : definition.commands) {
        const std::string condition = "__fish_seen_subcommand_from " + command.name;
        for (const OptionText& option : command.options) text += fish_option(condition, option);
        for (const OptionText& operand : command.operands) {
            text += fmt::format(
                "complete -c lowhiss -n {} {}\n", shell_quoted(condition),
                operand.choices.empty() ? "-F" : "-a " + shell_quoted(joined(operand.choices)));
        }
    }
    return text;
}

}  // namespace lowhiss::cli
