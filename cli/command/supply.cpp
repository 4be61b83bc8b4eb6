#include "command/supply.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>

#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/measure/supply_faults.hpp"
#include "lowhiss/topology/check.hpp"
#include "shell/log.hpp"
#include "write/output.hpp"
#include "write/supply_json.hpp"
#include "write/supply_table.hpp"

namespace lowhiss::cli {
namespace {

/// Each fault once per part, kind and supply end, at the knob position where it is worst.
std::vector<ListedFault> listed_faults(const SupplyRun& run, const Board& assembled) {
    std::vector<ListedFault> faults;
    for (std::size_t end = 0; end < run.ends.size(); ++end) {
        for (std::size_t k = 0; k < run.knob.size(); ++k) {
            for (SupplyFault& fault : faults_of(run.states[end][k])) {
                const auto known =
                    std::find_if(faults.begin(), faults.end(), [&](const ListedFault& other) {
                        return other.fault.part == fault.part && other.fault.kind == fault.kind &&
                               other.end == run.ends[end];
                    });
                if (known != faults.end() && !(fault.excess > known->fault.excess)) continue;
                std::string accepted = reason_accepted(assembled, fault.part, fault.kind);
                ListedFault listed{std::move(fault), run.ends[end], run.knob[k],
                                   std::move(accepted)};
                if (known == faults.end())
                    faults.push_back(std::move(listed));
                else
                    *known = std::move(listed);
            }
        }
    }
    return faults;
}

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
    const std::vector<double>& rotations = assembled.knob ? run.knob : none;
    const Diagnostics findings = check_assembly(assembled, model, rotations);
    if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, findings);
    print_diagnostics(findings, options.quiet, options.color);
    run.ends = {SupplyEnd::nominal};
    if (has_supply_ends(assembled)) run.ends.assign(std::begin(supply_ends), std::end(supply_ends));
    std::vector<std::unique_ptr<Setting>> settings;
    settings.reserve(rotations.size());
    for (const double rotation : rotations) {
        settings.push_back(std::make_unique<Setting>(assembled, model, rotation));
    }
    for (const SupplyEnd end : run.ends) {
        std::vector<SupplyState>& states = run.states.emplace_back();
        for (const auto& setting : settings) states.push_back(setting->supply(end));
    }
    ModelGaps gaps(assembled);
    for (const auto& setting : settings) {
        run.life.push_back(battery_life(assembled, setting->angle(), model));
        if (!gaps.any()) continue;
        const std::vector<AssumedIdeal> here = gaps.of(
            {"supply_margin", "supply_current", "feed_margin", "battery_life", "output_offset"},
            *setting);
        run.assumes_ideal.insert(run.assumes_ideal.end(), here.begin(), here.end());
    }
    run.faults = listed_faults(run, assembled);
    return run;
}

std::vector<SupplyRun> runs_of(const Board& board, const std::vector<double>& knob,
                               const SupplyOptions& options) {
    const auto log = make_logger(options.common);
    std::vector<std::string> variants = variant_names(board, options.assembly.variants);
    if (variants.empty()) variants.emplace_back();
    std::vector<const std::string*> capsules;
    for (const std::string& capsule : options.assembly.capsules) capsules.push_back(&capsule);
    if (capsules.empty()) capsules.push_back(nullptr);
    std::vector<SupplyRun> runs;
    for (const std::string& variant : variants) {
        for (const std::string* capsule : capsules) {
            runs.push_back(
                timed(*log,
                      fmt::format("operating points of {}",
                                  variant.empty() ? "the plain board" : "variant " + variant),
                      [&] { return run_of(board, variant, capsule, knob, options.common); }));
        }
    }
    return runs;
}

}  // namespace

void add_supply(CLI::App& app, SupplyOptions& options) {
    CLI::App* command = app.add_subcommand(
        "supply", "DC voltages and currents; exits 1 if the supply is inadequate");
    command->add_option("BOARD", options.board, "board file")->required();
    add_assembly(*command, options.assembly);
    command->add_option("--json", options.json, "write everything as JSON; - is standard output")
        ->type_name("FILE");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_supply(const SupplyOptions& options) {
    const std::vector<double> knob = knob_positions(options.assembly.knob);
    const Board board = load(options.board, options.common);
    keep_apart({options.json}, *options.common.files);
    warn_of_unused_knob(knob, board, options.common);
    const SupplyReport report{&board, runs_of(board, knob, options)};
    if (!options.json.empty()) write_output(options.json, supply_json(report));
    if (!options.common.quiet && options.json != "-") {
        write_output("-", supply_table(report, wants_color(options.common.color, stdout)));
    }
    const bool adequate =
        std::all_of(report.runs.begin(), report.runs.end(), [](const SupplyRun& run) {
            return std::all_of(run.faults.begin(), run.faults.end(),
                               [](const ListedFault& fault) { return !fault.accepted.empty(); });
        });
    return adequate ? done : not_met;
}

}  // namespace lowhiss::cli
