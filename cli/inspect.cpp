#include "inspect.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <algorithm>

#include "console.hpp"
#include "graphviz.hpp"
#include "log.hpp"
#include "lowhiss/board/nearest.hpp"
#include "lowhiss/topology/check.hpp"
#include "lowhiss/topology/drawing.hpp"
#include "output.hpp"

namespace lowhiss::cli {
namespace {

[[noreturn]] void refuse(std::string_view option, const std::string& name,
                         const std::vector<std::string>& known) {
    const std::string meant = did_you_mean(name, known);
    throw UsageError(fmt::format("--{0}: the board has no {0} '{1}'; accepted: {2}{3}", option,
                                 name, known.empty() ? "none" : listed(known),
                                 meant.empty() ? "" : "; " + meant));
}

const Variant* variant_named(const Board& board, const std::string& name) {
    if (name.empty()) return nullptr;
    if (const Variant* variant = find_variant(board, name)) return variant;
    std::vector<std::string> known{"all"};
    for (const Variant& variant : board.variants) known.push_back(variant.name);
    refuse("variant", name, known);
}

const Capsule* capsule_named(const Board& board, const std::string& name) {
    if (name.empty()) return nullptr;
    const auto found = board.models.capsules.find(name);
    if (found != board.models.capsules.end()) return &found->second;
    std::vector<std::string> known;
    for (const auto& [capsule, model] : board.models.capsules) known.push_back(capsule);
    refuse("capsule", name, known);
}

std::string key_of(const Diagnostic& d) {
    return fmt::format("{}|{}|{}|{}", d.code, d.subject, d.found, d.at.line);
}

/// A short at the end of a knob's track is there at that rotation only, so all are looked at.
Diagnostics findings_of(const Assembly& assembly) {
    Diagnostics all;
    std::vector<std::string> known;
    for (const double rotation : assembly.rotations) {
        const Circuit circuit = build_circuit(assembly.board, rotation, assembly.capsule);
        for (Diagnostic& d : check_topology(assembly.board, circuit)) {
            if (std::find(known.begin(), known.end(), key_of(d)) != known.end()) continue;
            known.push_back(key_of(d));
            all.push_back(std::move(d));
        }
    }
    std::stable_partition(all.begin(), all.end(),
                          [](const Diagnostic& d) { return d.severity == Severity::error; });
    return all;
}

Assembly assembled(const Board& board, const std::string& variant_name,
                   const std::optional<std::string>& capsule, const std::vector<double>& knob) {
    const Variant* variant = variant_named(board, variant_name);
    Assembly assembly;
    assembly.board = with_variant(board, variant);
    assembly.variant = variant_name;
    assembly.summary = variant ? variant->summary : "";
    if (capsule) assembly.board.input.capsule = *capsule;
    assembly.capsule = capsule_named(board, assembly.board.input.capsule);
    assembly.rotations = {0};
    if (board.knob) assembly.rotations = knob.empty() ? board.knob->positions : knob;
    assembly.findings = findings_of(assembly);
    return assembly;
}

std::vector<Assembly> assemblies(const Board& board, const AssemblyOptions& options) {
    const std::vector<double> knob = knob_positions(options.knob);
    std::vector<std::string> variants = variant_names(board, options.variants);
    if (variants.empty()) variants.emplace_back();
    std::vector<std::optional<std::string>> capsules(options.capsules.begin(),
                                                     options.capsules.end());
    if (capsules.empty()) capsules.emplace_back();
    std::vector<Assembly> list;
    for (const std::string& variant : variants) {
        for (const auto& capsule : capsules)
            list.push_back(assembled(board, variant, capsule, knob));
    }
    return list;
}

/// The whole on standard output; where that is not free, the errors on standard error.
void print(const std::vector<Assembly>& list, const CommonOptions& options, bool output_taken) {
    std::string text;
    for (const Assembly& assembly : list) {
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
    CLI::App* command = app.add_subcommand(
        "inspect", "nodes, parts, feedback loops, what is wrong with the netlist");
    command->add_option("BOARD", options.board, "the board file")->required();
    add_assembly(*command, options.assembly);
    command
        ->add_option("--graph", options.graph,
                     "draw the board: .svg, .png, .pdf (by Graphviz) or .dot; - is DOT text on "
                     "standard output")
        ->type_name("FILE");
    add_common(*command, options.common);
}

ExitStatus run_inspect(const InspectOptions& options) {
    const bool drawn = !options.graph.empty();
    if (drawn) check_drawing_name(options.graph);
    const Board board = load(options.board, options.common);
    const std::vector<Assembly> list = assemblies(board, options.assembly);
    if (!options.assembly.knob.empty() && !board.knob) {
        make_logger(options.common)->warn("--knob does nothing: the board has no [knob]");
    }
    if (drawn && list.size() > 1) {
        throw UsageError("--graph draws one assembly: name one --variant and one --capsule");
    }
    if (drawn) write_drawing(options.graph, graph_text(list[0].board, title_of(list[0])));
    const bool output_taken = options.common.quiet || options.graph == "-";
    print(list, options.common, output_taken);
    const bool sound = std::none_of(list.begin(), list.end(), [](const Assembly& assembly) {
        return has_errors(assembly.findings);
    });
    return sound ? done : no_solution;
}

}  // namespace lowhiss::cli
