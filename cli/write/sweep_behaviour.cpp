#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "command/sweep.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

// What usual inputs are made for. Common practice, no source.
constexpr double camera_dbu = -40;
constexpr double recorder_dbu = -7.78;  // -10 dBV
constexpr double line_dbu = 4;
constexpr double one_pascal_db_spl = 93.979400086720376;  // re 20 uPa

std::string rotation_percent(const KnobResult& knob) {
    return std::isfinite(knob.position) ? fixed(100 * knob.position, 0) : "-";
}

/// A sharpness as people read it: below a half nothing rings.
std::string quality(double q) {
    return std::isfinite(q) ? print_quantity(q, Unit::number, 3) : "-";
}

class BehaviourWriter {
  public:
    BehaviourWriter(const SweepRun& run, bool bold) : run_(run), bold_(bold) {}

    std::string text() {
        write_headroom();
        write_output();
        write_stability();
        write_common_mode();
        write_supplies();
        write_ripples();
        write_radio();
        return std::move(text_);
    }

  private:
    void title(const std::string& text) {
        text_ += "\n";
        text_ += bold_ ? "\x1b[1m" + text + "\x1b[0m\n" : text + "\n";
    }
    void line(const std::string& text) { text_ += hanging(text, 4); }

    /// The position of most gain, where rejection is asked most of.
    const KnobResult& loudest() const {
        return *std::max_element(run_.knob.begin(), run_.knob.end(),
                                 [](const KnobResult& a, const KnobResult& b) {
                                     return a.measures.gain_1khz_db < b.measures.gain_1khz_db;
                                 });
    }

    std::string at_loudest() const {
        const KnobResult& knob = loudest();
        return std::isnan(knob.position) ? "" : fmt::format(", knob {} %", rotation_percent(knob));
    }

    void write_headroom() {
        const auto known = [](const KnobResult& knob) {
            return std::isfinite(knob.behaviour.headroom[1].input_v);
        };
        if (std::none_of(run_.knob.begin(), run_.knob.end(), known)) return;
        title("Headroom: the largest sine before an amplifier clips or cannot follow");
        Table table(0);
        table.heading({"knob", "input", "first", "20 Hz", "20 kHz", "output", "loudest",
                       "self noise", "range"});
        table.heading({"", "1 kHz", "", "input", "input", "1 kHz", "1 kHz", "A-wtd", "A-wtd"});
        table.heading({"%", "dBu", "", "dBu", "dBu", "dBu", "dB SPL", "dB SPL", "dB"});
        for (const KnobResult& knob : run_.knob) {
            const Behaviour& b = knob.behaviour;
            const auto input = [&](std::size_t k) {
                return fixed(dbu_from_v(b.headroom[k].input_v), 1) +
                       (b.headroom[k].slews ? "*" : "");
            };
            slews_ = slews_ || std::any_of(b.headroom.begin(), b.headroom.end(),
                                           [](const Headroom& h) { return h.slews; });
            table.row({rotation_percent(knob), input(1), cut(b.headroom[1].part, 8), input(0), input(2),
                       fixed(dbu_from_v(b.headroom[1].output_v), 1), fixed(b.max_spl_db, 1),
                       fixed(b.self_noise_db_spl, 1), fixed(b.dynamic_range_db, 1)});
        }
        text_ += table.text();
        if (slews_) line("  * by slew rate");
    }

    /// The sound pressure level at which the output reaches a level.
    static std::string spl_at(const Behaviour& b, double level_dbu) {
        const double spl = one_pascal_db_spl + level_dbu - b.output_level_dbu;
        return fixed(spl, 0);
    }

    void write_output() {
        title("Output: impedance, what loads take, and how loud it is for other devices");
        Table table(0);
        table.heading({"knob", "1 kHz", "20 kHz", "600 Ω", "10 kΩ", "10 nF", "1 Pa", "camera",
                       "recorder", "line"});
        table.heading(
            {"", "", "", "1 kHz", "1 kHz", "20 kHz", "1 kHz", "-40 dBu", "-10 dBV", "+4 dBu"});
        table.heading({"%", "Ω", "Ω", "dB", "dB", "dB", "dBu", "dB SPL", "dB SPL", "dB SPL"});
        for (const KnobResult& knob : run_.knob) {
            const Behaviour& b = knob.behaviour;
            table.row({rotation_percent(knob), compact(b.output_ohm[1]), compact(b.output_ohm[2]),
                       fixed(b.loss_db[0], 1), fixed(b.loss_db[2], 1), fixed(b.cable_loss_db, 1),
                       fixed(b.output_level_dbu, 1), spl_at(b, camera_dbu), spl_at(b, recorder_dbu),
                       spl_at(b, line_dbu)});
        }
        text_ += table.text();
    }

    void write_stability() {
        const auto silent = [](const KnobResult& knob) {
            const Stability& s = knob.behaviour.stability;
            return s.known && s.stable && s.loops.empty() && s.modes.empty();
        };
        if (std::all_of(run_.knob.begin(), run_.knob.end(), silent)) return;
        title("Stability: the loop of least phase margin, and the sharpest natural frequency");
        Table table(0);
        table.heading({"knob", "cable", "loop", "crosses", "phase", "gain", "natural", "Q"});
        table.heading({"", "", "", "over at", "margin", "margin", "frequency", ""});
        table.heading({"%", "", "", "Hz", "deg", "dB", "Hz", ""});
        for (const KnobResult& knob : run_.knob) {
            add_stability_row(rotation_percent(knob), "board's", knob.behaviour.stability, table);
            for (const CableStability& cable : knob.behaviour.cables) {
                add_stability_row("", print_quantity(cable.cable_f, Unit::farad, 3),
                                  cable.stability, table);
            }
        }
        text_ += table.text();
        if (!run_.knob.front().behaviour.stability.known) {
            line("  too large for natural frequencies: whether it is stable at all is not known");
        }
    }

    static void add_stability_row(const std::string& knob, const std::string& cable,
                                  const Stability& s, Table& table) {
        std::vector<std::string> cells{knob, cable, "-", "-", "-", "-", "-", "-"};
        if (const LoopMargins* loop = s.worst_loop()) {
            const auto index = static_cast<std::size_t>(loop - s.loops.data());
            cells[2] = cut(s.loop_parts[index], 8);
            cells[3] = compact(loop->crossover_hz);
            cells[4] = fixed(loop->phase_margin_deg, 0);
            cells[5] = fixed(loop->gain_margin_db, 1);
        }
        if (const NaturalMode* mode = s.sharpest()) {
            cells[6] = compact(mode->frequency_hz);
            cells[7] = quality(mode->q);
        }
        if (!s.stable) {
            cells[6] = compact(s.grows_hz);
            cells[7] = "GROWS";
        }
        table.row(std::move(cells));
    }

    void write_common_mode() {
        const auto known = [](const KnobResult& knob) {
            return std::isfinite(knob.behaviour.common_mode_db[1]);
        };
        if (std::none_of(run_.knob.begin(), run_.knob.end(), known)) return;
        title("Common mode: gain over that of both input terminals driven alike");
        Table table(0);
        table.heading({"knob", "50 Hz", "1 kHz", "20 kHz"});
        table.heading({"%", "dB", "dB", "dB"});
        for (const KnobResult& knob : run_.knob) {
            const auto& db = knob.behaviour.common_mode_db;
            table.row({rotation_percent(knob), fixed(db[0], 1), fixed(db[1], 1), fixed(db[2], 1)});
        }
        text_ += table.text();
        line("  as drawn; what parts' tolerances leave of it, tolerance says");
    }

    void write_supplies() {
        const Behaviour& b = loudest().behaviour;
        if (b.supplies.empty()) return;
        title("Supply: gain over that of what rides on it" + at_loudest());
        Table table(1);
        table.heading({"supply", "100 Hz", "1 kHz", "20 kHz", "may hiss"});
        table.heading({"", "dB", "dB", "dB", "rms"});
        for (const SupplyRejection& supply : b.supplies) {
            table.row({cut(supply.source, 12), fixed(supply.rejection_db[0], 1),
                       fixed(supply.rejection_db[1], 1), fixed(supply.rejection_db[2], 1),
                       supply.quiet_v > 1 ? "over 1 V" : quantity(supply.quiet_v, Unit::volt)});
        }
        text_ += table.text();
        line("  may hiss: white noise in the band that stays 10 dB under the board's own");
        const bool silent = std::any_of(
            b.supplies.begin(), b.supplies.end(),
            [](const SupplyRejection& supply) { return std::isnan(supply.rejection_db[1]); });
        if (silent) line("  -: nothing of it comes through, as behind a converter");
        if (std::isfinite(b.feed_rejection_db)) {
            line(
                fmt::format("  feed with its resistors as unequal as they may be: {} dB over the "
                            "output at 1 kHz",
                            fixed(b.feed_rejection_db, 1)));
        }
    }

    void write_ripples() {
        const Behaviour& b = loudest().behaviour;
        if (b.ripples.empty()) return;
        title("Ripple: what arrives of it" + at_loudest());
        Table table(1);
        table.heading({"ripple", "at", "on the supply", "output", "as input"});
        table.heading({"", "", "rms", "dBu", "dBu"});
        for (const RippleArrival& arrival : b.ripples) {
            table.row({cut(arrival.name, 24),
                       std::isnan(arrival.frequency_hz)
                           ? "band"
                           : print_quantity(arrival.frequency_hz, Unit::hertz, 3),
                       quantity(arrival.rms_v, Unit::volt), fixed(dbu_from_v(arrival.output_v), 1),
                       fixed(dbu_from_v(arrival.input_v), 1)});
        }
        text_ += table.text();
    }

    void write_radio() {
        const Behaviour& b = loudest().behaviour;
        if (std::isnan(b.radio_db[0]) && std::isnan(b.radio_common_db[0])) return;
        title("Radio: what is lost on the way to an amplifier's input, from 150 Ω");
        Table table(1);
        table.heading({"", "1 MHz", "10 MHz", "100 MHz", "1 GHz"});
        table.heading({"driven", "dB", "dB", "dB", "dB"});
        const auto row = [&](const char* name, const auto& db) {
            table.row({name, fixed(db[0], 1), fixed(db[1], 1), fixed(db[2], 1), fixed(db[3], 1)});
        };
        row("between the terminals", b.radio_db);
        row("both terminals alike", b.radio_common_db);
        text_ += table.text();
        line("  of ideal lumped parts: above some 30 MHz leads and tracks decide");
    }

    const SweepRun& run_;
    bool bold_;
    bool slews_ = false;
    std::string text_;
};

}  // namespace

std::string behaviour_text(const SweepRun& run, bool bold) {
    return BehaviourWriter(run, bold).text();
}

std::string instability_text(const SweepRun& run) {
    std::string text;
    for (const KnobResult& knob : run.knob) {
        const Stability& s = knob.behaviour.stability;
        if (s.stable) continue;
        text += hanging(
            fmt::format(
                "UNSTABLE{}: what rings at {} grows without end. The response "
                "and noise below are not what this board will do.",
                std::isnan(knob.position) ? "" : fmt::format(" at knob {} %", rotation_percent(knob)),
                quantity(s.grows_hz, Unit::hertz)),
            2);
    }
    const KnobResult& first = run.knob.front();
    for (const SupplyFault& fault : first.behaviour.supply_faults) {
        text += hanging("FAULT of the supply: " + fault.part + ": " + fault.text, 2);
    }
    return text;
}

}  // namespace lowhiss::cli
