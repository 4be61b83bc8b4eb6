#include "command/materials.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "shell/exit_status.hpp"

namespace lowhiss::cli {

std::pair<std::string, std::string> name_and_value(const std::string& text, const char* option,
                                                   const char* accepted) {
    const auto equals = text.find('=');
    if (equals == 0 || equals == std::string::npos || equals + 1 == text.size()) {
        throw UsageError(
            fmt::format("{}: '{}' is not a pair; accepted: {}", option, text, accepted));
    }
    return {text.substr(0, equals), text.substr(equals + 1)};
}

MaterialsOptions materials_options(const MaterialsReading& reading) {
    MaterialsOptions options;
    constexpr const char* accepted = "designator=NAME or value=NAME";
    for (const std::string& text : reading.columns) {
        const auto [key, name] = name_and_value(text, "--columns", accepted);
        if (key == "designator")
            options.designator_column = name;
        else if (key == "value")
            options.value_column = name;
        else
            throw UsageError(fmt::format("--columns: '{}' is not a kind of column; accepted: {}",
                                         key, accepted));
    }
    options.unfitted = reading.unfitted;
    return options;
}

void add_materials_reading(CLI::App& command, MaterialsReading& reading) {
    command
        .add_option("--columns", reading.columns,
                    "columns of the list of materials, if not recognised: "
                    "designator=NAME,value=NAME")
        ->type_name("LIST")
        ->delimiter(',')
        ->allow_extra_args(false);
    command
        .add_option("--unfitted", reading.unfitted,
                    "text of a cell that marks a row of the list of materials as not fitted; "
                    "repeat for more")
        ->type_name("TEXT")
        ->allow_extra_args(false);
}

}  // namespace lowhiss::cli
