#include "shell/man_page.hpp"

#include <fmt/format.h>

namespace lowhiss::cli {
namespace {

/// Escapes text for troff: no line begins with a request, and hyphens stay ASCII for copying.
std::string troff(std::string_view text) {
    std::string out;
    bool begins = true;
    for (const char c : text) {
        if (begins && (c == '.' || c == '\'')) out += "\\&";
        begins = c == '\n';
        if (c == '\\')
            out += "\\e";
        else if (c == '-')
            out += "\\-";
        else
            out += c;
    }
    return out;
}

/// "write JSON" as "Write JSON.", escaped.
std::string sentence(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') {
        text.front() = static_cast<char>(text.front() - 'a' + 'A');
    }
    return troff(text) + ".";
}

std::string value_text(const OptionText& option) {
    if (option.choices.empty()) return "\\fI" + troff(option.value) + "\\fR";
    std::string text;
    for (const std::string& choice : option.choices) {
        text += (text.empty() ? "\\fB" : "|\\fB") + troff(choice) + "\\fR";
    }
    return text;
}

std::string option_rows(const std::vector<OptionText>& options) {
    std::string text;
    for (const OptionText& option : options) {
        text += ".TP\n\\fB" + troff(option.name) + "\\fR";
        if (!option.value.empty()) text += " " + value_text(option);
        const std::string preset = option.preset.empty() ? "" : " (default: " + option.preset + ")";
        text += "\n" + sentence(option.about + preset) + "\n";
    }
    return text;
}

std::string operands_text(const CommandText& command) {
    std::string text;
    for (const OptionText& operand : command.operands) {
        const std::string name =
            operand.choices.empty() ? "\\fI" + troff(operand.name) + "\\fR" : value_text(operand);
        const std::string all = name + (operand.repeats ? " ..." : "");
        text += operand.required ? " " + all : " [" + all + "]";
    }
    return text;
}

}  // namespace

std::string man_page(const Definition& definition) {
    const std::string name = troff(definition.name);
    std::string text =
        fmt::format(".TH LOWHISS 1 \"\" \"lowhiss " LOWHISS_VERSION
                    "\" \"User commands\"\n.SH NAME\n"
                    "{} \\- noise, response and limits of a preamp board\n.SH SYNOPSIS\n",
                    name);
    for (const CommandText& command : definition.commands) {
        text += fmt::format("\\fB{} {}\\fR{} [\\fIoptions\\fR]\n.br\n", name, troff(command.name),
                            operands_text(command));
    }
    text += ".SH DESCRIPTION\n" + sentence(definition.about) + "\n";
    text += ".SH OPTIONS\n" + option_rows(definition.options) + ".SH COMMANDS\n";
    for (const CommandText& command : definition.commands) {
        text += fmt::format(".SS \"{}{}\"\n{}\n", troff(command.name), operands_text(command),
                            sentence(command.about));
        text += option_rows(command.options);
    }
    text += ".SH EXIT STATUS\n.nf\n" + troff(definition.exit_statuses) + "\n.fi\n";
    text +=
        ".SH ENVIRONMENT\n.TP\n\\fBNO_COLOR\\fR\nIf set, output is not coloured unless "
        "\\-\\-color always asks for it.\n"
        ".TP\n\\fBCI\\fR\nIf set and neither false nor 0, check \\-\\-record needs "
        "\\-\\-force, and a figure missing from the board or from the baseline fails.\n"
        ".SH FILES\n.TP\n\\fIboard\\fB.toml\\fR\nThe board.\n"
        ".TP\n\\fIboard\\fB.baseline\\fR\nIts recorded figures, in the same folder.\n";
    return text;
}

}  // namespace lowhiss::cli
