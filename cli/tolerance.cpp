#include "tolerance.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "console.hpp"
#include "output.hpp"

namespace lowhiss::cli {

void add_tolerance(CLI::App& app, ToleranceOptions& options) {
    CLI::App* command =
        app.add_subcommand("tolerance", "spread, yield and the parts that cause it");
    command->add_option("BOARD", options.board, "the board file")->required();
    command->add_option("--variant", options.variant, "an assembly of the board")
        ->type_name("NAME");
    command->add_option("--boards", options.boards, "how many boards are made")
        ->check(CLI::Range(std::size_t{1}, std::size_t{1'000'000}))
        ->capture_default_str();
    command->add_option("--first", options.first, "index of the first board, to run in parts")
        ->capture_default_str();
    add_series(*command, options.series);
    command
        ->add_option("--least-yield", options.least_yield,
                     "status 1 where a smaller share of boards meets every limit, 0 to 1")
        ->check(CLI::Range(0.0, 1.0));
    command->add_option("--json", options.json, "write all figures as JSON; - is standard output")
        ->type_name("FILE");
    add_common(*command, options.common);
}

ExitStatus run_tolerance(const ToleranceOptions& options) {
    keep_apart({options.json}, {options.board});
    const Board board = load(options.board, options.common);
    Diagnostics diagnostics;
    SpreadRequest request{series_of(options.series), options.first, options.boards, options.variant,
                          read_limits(board, disk_reader(), diagnostics)};
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    if (has_errors(diagnostics)) return unusable;
    const Board assembled = with_variant(board, variant_named(board, options.variant));
    const SpreadReport report{
        options.board,           board.name, board.revision,           assembled.input.capsule,
        board.temperature_range, request,    spread_of(board, request)};
    if (!options.common.quiet && options.json != "-") {
        write_output("-", tolerance_table(report, wants_color(options.common.color, stdout)));
    }
    if (!options.json.empty()) write_output(options.json, tolerance_json(report));
    const auto& limits = report.spread.limits;
    if (std::any_of(limits.begin(), limits.end(), [](const LimitSpread& limit) {
            return limit.nominal.outcome == Outcome::not_computed;
        })) {
        return no_solution;
    }
    return report.spread.yield.share < options.least_yield ? not_met : done;
}

}  // namespace lowhiss::cli
