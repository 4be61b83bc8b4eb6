#include "command/supply.hpp"

#include <algorithm>

#include "lowhiss/board/limit.hpp"
#include "lowhiss/topology/check.hpp"
#include "shell/console.hpp"
#include "shell/log.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

SupplyRun run_of(const Board& board, const std::string& variant_name, const std::string* capsule,
                 const std::vector<double>& knob, const CommonOptions& options) {
    const Variant* variant = variant_named(board, variant_name);
    const Board assembled = with_variant(board, variant);
    SupplyRun run;
    run.variant = variant_name;
    run.summary = variant ? variant->summary : "";
    run.capsule = capsule ? *capsule : assembled.input.capsule;
    const Capsule* model = capsule_named(board, run.capsule);
    run.knob = {unset};
    if (assembled.knob) run.knob = knob.empty() ? assembled.knob->positions : knob;
    const std::vector<double> none{0};
    const Diagnostics findings = check_assembly(assembled, model, assembled.knob ? run.knob : none);
    if (!has_errors(findings)) print_diagnostics(findings, options.quiet, options.color);
    if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, findings);
    run.ends = {SupplyEnd::nominal};
    if (has_supply_ends(assembled)) run.ends.assign(std::begin(supply_ends), std::end(supply_ends));
    for (const SupplyEnd end : run.ends) {
        const Board at = at_supply(assembled, end);
        std::vector<SupplyState>& states = run.states.emplace_back();
        for (const double rotation : assembled.knob ? run.knob : none) {
            states.push_back(supply_state(at, rotation, model));
        }
    }
    return run;
}

}  // namespace

std::vector<PlacedFault> faults_of(const SupplyRun& run) {
    std::vector<PlacedFault> faults;
    for (std::size_t end = 0; end < run.ends.size(); ++end) {
        for (std::size_t k = 0; k < run.knob.size(); ++k) {
            for (SupplyFault& fault : lowhiss::faults_of(run.states[end][k])) {
                const bool known =
                    std::any_of(faults.begin(), faults.end(), [&](const PlacedFault& other) {
                        return other.fault.part == fault.part && other.fault.kind == fault.kind &&
                               other.end == run.ends[end];
                    });
                if (!known) faults.push_back({std::move(fault), run.ends[end], run.knob[k]});
            }
        }
    }
    return faults;
}

void add_supply(CLI::App& app, SupplyOptions& options) {
    CLI::App* command = app.add_subcommand(
        "supply", "direct voltages and currents; status 1 where the supply does not do");
    command->add_option("BOARD", options.board, "the board file")->required();
    add_assembly(*command, options.assembly);
    command->add_option("--json", options.json, "write everything as JSON; - is standard output")
        ->type_name("FILE");
    add_common(*command, options.common);
}

ExitStatus run_supply(const SupplyOptions& options) {
    const std::vector<double> knob = knob_positions(options.assembly.knob);
    keep_apart({options.json}, {options.board});
    const Board board = load(options.board, options.common);
    if (!knob.empty() && !board.knob) {
        make_logger(options.common)->warn("--knob does nothing: the board has no [knob]");
    }
    std::vector<std::string> variants = variant_names(board, options.assembly.variants);
    if (variants.empty()) variants.emplace_back();
    SupplyReport report{&board, {}};
    for (const std::string& variant : variants) {
        if (options.assembly.capsules.empty()) {
            report.runs.push_back(run_of(board, variant, nullptr, knob, options.common));
        }
        for (const std::string& capsule : options.assembly.capsules) {
            report.runs.push_back(run_of(board, variant, &capsule, knob, options.common));
        }
    }
    if (!options.json.empty()) write_output(options.json, supply_json(report));
    if (!options.common.quiet && options.json != "-") {
        write_output("-", supply_table(report, wants_color(options.common.color, stdout)));
    }
    const bool sound = std::all_of(report.runs.begin(), report.runs.end(),
                                   [](const SupplyRun& run) { return faults_of(run).empty(); });
    return sound ? done : not_met;
}

}  // namespace lowhiss::cli
