#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

template <class Figures>
bool any_known(const Figures& figures) {
    return std::any_of(figures.begin(), figures.end(), [](double x) { return std::isfinite(x); });
}

template <class Has>
bool any_position(const SweepRun& run, Has has) {
    return std::any_of(run.knob.begin(), run.knob.end(),
                       [&](const KnobResult& knob) { return has(knob.behaviour); });
}

/// Larger figures are printed as more than this: on a built board stray coupling decides there.
constexpr double most_rejection_db = 160;

std::string rejection(double db, bool best_case) {
    const bool beyond = db > most_rejection_db;
    if (beyond && best_case) return std::string(best_case_mark);
    return marked(beyond ? ">160" : fixed(db, 1), best_case);
}

constexpr double most_allowed_v = 1;

std::string allowed_noise(double rms_v) {
    return rms_v > most_allowed_v ? "over 1 V" : quantity(rms_v, Unit::volt);
}

/// Whether figures in dB print alike at every knob position.
template <class Figures>
bool same_everywhere(const SweepRun& run, Figures figures_of) {
    constexpr double printed_step_db = 0.05;
    const std::vector<double> first = figures_of(run.knob.front().behaviour);
    return std::all_of(run.knob.begin(), run.knob.end(), [&](const KnobResult& knob) {
        const std::vector<double> here = figures_of(knob.behaviour);
        return std::equal(here.begin(), here.end(), first.begin(), [&](double a, double b) {
            return std::isnan(a) ? std::isnan(b) : std::abs(a - b) < printed_step_db;
        });
    });
}

/// A row for each knob position, or a single one if all would be alike. `row` takes the position,
/// the knob's cell, and whether it is the first row.
template <class Figures, class Row>
void position_rows(const SweepRun& run, Figures figures_of, Row row) {
    if (run.knob.size() > 1 && same_everywhere(run, figures_of)) {
        return row(run.knob.front(), "any", true);
    }
    for (const KnobResult& knob : run.knob) {
        row(knob, rotation_percent(knob), &knob == &run.knob.front());
    }
}

/// The feed's rejection where it is least.
std::string feed_line(const SweepRun& run) {
    double least_db = unset;
    for (const KnobResult& knob : run.knob) {
        least_db = std::fmin(least_db, knob.behaviour.feed_rejection_db);
    }
    if (std::isnan(least_db)) return "";
    return hanging(
        fmt::format("  with the feed resistors at opposite ends of their tolerance, noise "
                    "of the feed at 1 kHz is at least {} dB down at the output",
                    fixed(least_db, 1)),
        4);
}

}  // namespace

bool has_cmrr(const SweepRun& run) {
    return any_position(run, [](const Behaviour& b) { return any_known(b.common_mode_db); });
}

std::string cmrr_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "50 Hz", "1 kHz", "20 kHz"});
    table.heading({"%", "dB", "dB", "dB"});
    for (const KnobResult& knob : run.knob) {
        const auto& db = knob.behaviour.common_mode_db;
        const bool best = at_best(knob.assumes_ideal, {"common_mode_rejection"});
        table.row({rotation_percent(knob), rejection(db[0], best), rejection(db[1], best),
                   rejection(db[2], best)});
    }
    return table.text() +
           "  with every part exactly at its value; lowhiss tolerance adds the tolerances\n" +
           best_case_note(run, {"common_mode_rejection"});
}

bool has_psrr(const SweepRun& run) {
    return any_position(run, [](const Behaviour& b) {
        return !b.supplies.empty() || std::isfinite(b.feed_rejection_db);
    });
}

std::string psrr_table(const SweepRun& run) {
    Table table(1);
    table.heading({"supply", "knob", "100 Hz", "1 kHz", "20 kHz", "allowed"});
    table.heading({"", "", "", "", "", "noise"});
    table.heading({"", "%", "dB", "dB", "dB", "rms"});
    bool nothing = false;
    const std::size_t count = run.knob.front().behaviour.supplies.size();
    for (std::size_t k = 0; k < count; ++k) {
        const auto figures_of = [&](const Behaviour& b) {
            const SupplyRejection& supply = b.supplies[k];
            std::vector<double> figures(supply.rejection_db.begin(), supply.rejection_db.end());
            figures.push_back(20 * std::log10(std::fmin(supply.quiet_v, most_allowed_v)));
            return figures;
        };
        position_rows(
            run, figures_of, [&](const KnobResult& knob, const std::string& at, bool first) {
                const SupplyRejection& supply = knob.behaviour.supplies[k];
                const auto& db = supply.rejection_db;
                nothing = nothing || !any_known(db);
                const bool best = at_best(knob.assumes_ideal, {"supply_rejection"});
                table.row({first ? cut(supply.source, 12) : "", at, rejection(db[0], best),
                           rejection(db[1], best), rejection(db[2], best),
                           marked(allowed_noise(supply.quiet_v),
                                  at_best(knob.assumes_ideal, {"quiet_level"}))});
            });
    }
    std::string text = table.empty() ? "" : table.text();
    if (!table.empty()) {
        text += hanging(
            "  dB: signal gain over the gain from the supply; allowed noise: white noise on the "
            "supply that stays 10 dB below the board's own at the output",
            4);
    }
    if (nothing) text += "  -: none of it reaches the output, as behind an isolated converter\n";
    return text + feed_line(run) + best_case_note(run, {"supply_rejection", "quiet_level"});
}

bool has_ripple(const SweepRun& run) {
    return any_position(run, [](const Behaviour& b) { return !b.ripples.empty(); });
}

std::string ripple_table(const SweepRun& run) {
    Table table(1);
    table.heading({"ripple", "frequency", "supply", "knob", "output", "input"});
    table.heading({"", "", "rms", "%", "dBu", "dBu"});
    const std::size_t count = run.knob.front().behaviour.ripples.size();
    for (std::size_t k = 0; k < count; ++k) {
        for (const KnobResult& knob : run.knob) {
            const RippleArrival& ripple = knob.behaviour.ripples[k];
            const bool first = &knob == &run.knob.front();
            const bool best = at_best(knob.assumes_ideal, {"ripple_output"});
            const std::string at = std::isnan(ripple.frequency_hz)
                                       ? "band"
                                       : print_quantity(ripple.frequency_hz, Unit::hertz, 3);
            table.row({first ? cut(ripple.name, 24) : "", first ? at : "",
                       first ? quantity(ripple.rms_v, Unit::volt) : "", rotation_percent(knob),
                       marked(fixed(dbu_from_v(ripple.output_v), 1), best),
                       marked(fixed(dbu_from_v(ripple.input_v), 1), best)});
        }
    }
    return table.text() + best_case_note(run, {"ripple_output"});
}

bool has_radio(const SweepRun& run) {
    return any_position(run, [](const Behaviour& b) {
        return any_known(b.radio_db) || any_known(b.radio_common_db);
    });
}

std::string radio_table(const SweepRun& run) {
    Table table(1);
    table.heading({"mode", "knob", "1 MHz", "10 MHz", "100 MHz", "1 GHz"});
    table.heading({"", "%", "dB", "dB", "dB", "dB"});
    const auto rows = [&](const std::string& name, const auto& figures_of) {
        position_rows(run, figures_of,
                      [&](const KnobResult& knob, const std::string& at, bool first) {
                          const std::vector<double> db = figures_of(knob.behaviour);
                          table.row({first ? name : "", at, fixed(db[0], 1), fixed(db[1], 1),
                                     fixed(db[2], 1), fixed(db[3], 1)});
                      });
    };
    const auto as_list = [](const auto& db) { return std::vector<double>(db.begin(), db.end()); };
    rows("differential", [&](const Behaviour& b) { return as_list(b.radio_db); });
    rows("common mode", [&](const Behaviour& b) { return as_list(b.radio_common_db); });
    return table.text() +
           "  for ideal lumped parts: above about 30 MHz, leads and tracks dominate\n";
}

}  // namespace lowhiss::cli
