#include "command/inspect.hpp"

#include <spdlog/logger.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <optional>

#include "draw/drawing.hpp"
#include "draw/graphviz.hpp"
#include "lowhiss/topology/check.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/inspect_text.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

InspectedAssembly assembled(const Board& board, const std::string& variant_name,
                            const std::optional<std::string>& capsule,
                            const std::vector<double>& knob) {
    const Variant* variant = variant_named(board, variant_name);
    InspectedAssembly assembly;
    assembly.board = with_variant(board, variant);
    assembly.variant = variant_name;
    assembly.summary = variant ? variant->summary : "";
    if (capsule) assembly.board.input.capsule = *capsule;
    assembly.capsule = capsule_named(board, assembly.board.input.capsule);
    assembly.rotations = {0};
    if (board.knob) assembly.rotations = knob.empty() ? board.knob->positions : knob;
    assembly.findings = check_assembly(assembly.board, assembly.capsule, assembly.rotations);
    return assembly;
}

std::vector<InspectedAssembly> assemblies(const Board& board, const AssemblyOptions& options) {
    const std::vector<double> knob = knob_positions(options.knob);
    std::vector<std::string> variants = variant_names(board, options.variants);
    if (variants.empty()) variants.emplace_back();
    std::vector<std::optional<std::string>> capsules(options.capsules.begin(),
                                                     options.capsules.end());
    if (capsules.empty()) capsules.emplace_back();
    std::vector<InspectedAssembly> list;
    for (const std::string& variant : variants) {
        for (const auto& capsule : capsules)
            list.push_back(assembled(board, variant, capsule, knob));
    }
    return list;
}

/// The text on standard output; if that is taken, only the errors, on standard error.
void print(const std::vector<InspectedAssembly>& list, const CommonOptions& options,
           bool output_taken) {
    std::string text;
    for (const InspectedAssembly& assembly : list) {
        if (!text.empty()) text += "\n";
        if (!output_taken) text += inspect_text(assembly, wants_color(options.color, stdout));
        for (const Diagnostic& d : assembly.findings) {
            if (output_taken && d.severity == Severity::error) print_diagnostic(d, options.color);
        }
    }
    if (!output_taken) write_output("-", text);
}

}  // namespace

void add_inspect(CLI::App& app, InspectOptions& options) {
    CLI::App* command =
        app.add_subcommand("inspect", "parts, nodes, feedback loops, and mistakes in the netlist");
    command->add_option("BOARD", options.board, "the board file")->required();
    add_assembly(*command, options.assembly);
    command
        ->add_option("--graph", options.graph,
                     "draw the board: .svg, .png, .pdf (by Graphviz) or .dot; - is DOT text on "
                     "standard output")
        ->type_name("FILE");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_inspect(const InspectOptions& options) {
    const bool drawn = !options.graph.empty();
    if (drawn) check_drawing_name(options.graph);
    const Board board = load(options.board, options.common);
    keep_apart({options.graph}, *options.common.files);
    const std::vector<InspectedAssembly> list = assemblies(board, options.assembly);
    warn_of_unused_knob(knob_positions(options.assembly.knob), board, options.common);
    if (drawn && list.size() > 1) {
        throw UsageError("--graph draws one assembly: name one --variant and one --capsule");
    }
    if (drawn) write_drawing(options.graph, graph_text(list[0].board, title_of(list[0])));
    const bool output_taken = options.common.quiet || options.graph == "-";
    print(list, options.common, output_taken);
    const bool sound = std::none_of(
        list.begin(), list.end(),
        [](const InspectedAssembly& assembly) { return has_errors(assembly.findings); });
    return sound ? done : no_solution;
}

}  // namespace lowhiss::cli
