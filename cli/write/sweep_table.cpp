#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "command/sweep.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_knob_columns = 5;
constexpr std::size_t most_noise_rows = 10;

std::string rotation(const KnobResult& knob) {
    return std::isfinite(knob.position) ? percent(knob.position) + " %" : "-";
}

/// Indices of the knob positions that a table with a column for each has room for: evenly picked,
/// the first and the last always among them.
std::vector<std::size_t> shown_positions(const SweepRun& run) {
    const std::size_t count = run.knob.size();
    const std::size_t shown = std::min(count, most_knob_columns);
    std::vector<std::size_t> indices;
    for (std::size_t k = 0; k < shown; ++k) {
        indices.push_back(shown == 1 ? 0 : k * (count - 1) / (shown - 1));
    }
    return indices;
}

class SweepWriter {
  public:
    SweepWriter(const Sweep& sweep, const std::optional<DrawnBoard>& drawn, bool bold)
        : sweep_(sweep), drawn_(drawn), bold_(bold) {}

    std::string text() {
        for (const SweepRun& run : sweep_.runs) write_run(run);
        write_capsule_comparison();
        return std::move(text_);
    }

  private:
    void title(const std::string& text) {
        if (!text_.empty()) text_ += "\n";
        text_ += bold_ ? "\x1b[1m" + text + "\x1b[0m\n" : text + "\n";
    }

    void line(const std::string& text) { text_ += text + "\n"; }

    void write_run(const SweepRun& run) {
        std::string name = sweep_.board;
        if (!sweep_.revision.empty()) name += ", revision " + sweep_.revision;
        if (!run.variant.empty()) name += ", variant " + run.variant;
        title(name);
        if (drawn_) {
            const bool normal = drawn_->series.straying == Straying::normal;
            line(fmt::format("board {} of series {}, values stray {}", drawn_->index,
                             drawn_->series.seed, normal ? "normally" : "evenly"));
        }
        if (!run.summary.empty()) line(run.summary);
        text_ += instability_text(run);
        line(fmt::format("capsule {}, {}; noise {} to {}, rms",
                         run.capsule.empty() ? "none (an ideal source)" : run.capsule,
                         print_quantity(sweep_.temperature_k, Unit::kelvin, 5),
                         print_quantity(sweep_.band.from_hz, Unit::hertz),
                         print_quantity(sweep_.band.to_hz, Unit::hertz)));
        write_positions(run);
        write_noise(run);
        write_rolloff(run);
        write_capsule(run);
        text_ += behaviour_text(run, bold_);
        write_summary(run);
    }

    void write_positions(const SweepRun& run) {
        title("Gain, corners and hiss at each knob position");
        Table table(0);
        table.heading({"knob", "gain", "20 Hz", "20 kHz", "low", "high", "input", "output", "EIN",
                       "EIN", "NF"});
        table.heading(
            {"", "1 kHz", "re 1k", "re 1k", "-3 dB", "-3 dB", "1 kHz", "noise", "", "A-wtd", ""});
        table.heading({"%", "dB", "dB", "dB", "Hz", "Hz", "Ω", "dBu", "dBu", "dBu", "dB"});
        for (const KnobResult& knob : run.knob) {
            const Measures& m = knob.measures;
            table.row({percent(knob.position), fixed(m.gain_1khz_db, 1),
                       fixed(m.gain_20hz_db - m.gain_1khz_db, 2),
                       fixed(m.gain_20khz_db - m.gain_1khz_db, 2), compact(m.low_corner_hz),
                       compact(m.high_corner_hz), compact(m.input_impedance_1khz_ohm),
                       fixed(dbu_from_v(m.output_noise_v), 1), fixed(m.ein_dbu, 1),
                       fixed(m.ein_a_dbu, 1), fixed(m.noise_figure_db, 1)});
        }
        text_ += table.text();
    }

    static std::vector<std::string> knob_heading(const SweepRun& run,
                                                 std::vector<std::string> cells) {
        for (const std::size_t k : shown_positions(run)) cells.push_back(rotation(run.knob[k]));
        return cells;
    }

    void write_noise(const SweepRun& run) {
        title("Where the hiss comes from: % of output noise power, by knob position");
        using Key = std::pair<std::string, Mechanism>;
        std::map<Key, std::vector<double>> shares;
        const auto positions = shown_positions(run);
        for (std::size_t column = 0; column < positions.size(); ++column) {
            for (const NoiseShare& share : run.knob[positions[column]].noise_by_part) {
                auto& row = shares[{share.part, share.mechanism}];
                row.resize(positions.size());
                row[column] = share.share;
            }
        }
        std::vector<std::pair<Key, std::vector<double>>> rows(shares.begin(), shares.end());
        std::stable_sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) {
            return a.second.back() > b.second.back();
        });
        write_noise_rows(run, rows);
    }

    template <class Rows>
    void write_noise_rows(const SweepRun& run, const Rows& rows) {
        Table table(2);
        table.heading(knob_heading(run, {"part", "mechanism"}));
        std::vector<double> rest(shown_positions(run).size());
        for (const auto& [key, shares] : rows) {
            const double largest = *std::max_element(shares.begin(), shares.end());
            const bool shown = largest >= smallest_share_shown && table_rows_ < most_noise_rows;
            if (!shown) {
                for (std::size_t k = 0; k < rest.size(); ++k) rest[k] += shares[k];
                continue;
            }
            ++table_rows_;
            std::vector<std::string> cells{cut(key.first, 12), std::string(text_of(key.second))};
            for (const double share : shares) cells.push_back(fixed(100 * share, 1));
            table.row(std::move(cells));
        }
        table_rows_ = 0;
        std::vector<std::string> cells{"the rest", ""};
        for (const double share : rest) cells.push_back(fixed(100 * share, 1));
        if (*std::max_element(rest.begin(), rest.end()) > 0) table.row(std::move(cells));
        text_ += table.text();
    }

    void write_rolloff(const SweepRun& run) {
        if (run.knob.front().rolloff.empty()) return;
        title("Bass: what each coupling capacitor costs at 20 Hz, and its corner alone");
        Table table(1);
        table.heading(knob_heading(run, {"part"}));
        std::vector<std::string> units{""};
        units.resize(1 + shown_positions(run).size(), "dB    Hz");
        table.heading(units);
        std::vector<std::string> aside;
        for (std::size_t part = 0; part < run.knob.front().rolloff.size(); ++part) {
            add_rolloff_row(run, part, table, aside);
        }
        text_ += table.text();
        if (!aside.empty()) text_ += wrapped_list("under 0.005 dB, or to ground", aside);
    }

    static void add_rolloff_row(const SweepRun& run, std::size_t part, Table& table,
                                std::vector<std::string>& aside) {
        std::vector<std::string> cells{cut(run.knob.front().rolloff[part].part, 12)};
        bool matters = false;
        for (const std::size_t k : shown_positions(run)) {
            const Rolloff& r = run.knob[k].rolloff[part].rolloff;
            matters = matters || (r.in_the_way && std::abs(r.loss_db) >= 0.005);
            cells.push_back(
                r.in_the_way ? fmt::format("{} {:>5}", fixed(r.loss_db, 2), short_hz(r.corner_hz))
                             : "-");
        }
        if (matters)
            table.row(std::move(cells));
        else
            aside.push_back(cells.front());
    }

    static std::string short_hz(double hz) {
        if (!std::isfinite(hz)) return "-";
        return hz < 9.995 ? fixed(hz, 2) : hz < 99.95 ? fixed(hz, 1) : fixed(hz, 0);
    }

    void write_capsule(const SweepRun& run) {
        if (run.capsule.empty()) return;
        title("What the capsule's impedance does, against an ideal source");
        Table table(0);
        table.heading({"knob", "20 Hz", "1 kHz", "20 kHz", "noise rise"});
        table.heading({"%", "dB", "dB", "dB", "dB"});
        for (const std::size_t k : shown_positions(run)) {
            const Measures& m = run.knob[k].measures;
            table.row({percent(run.knob[k].position), fixed(m.capsule_effect_20hz_db, 2),
                       fixed(m.capsule_effect_1khz_db, 2), fixed(m.capsule_effect_20khz_db, 2),
                       fixed(m.capsule_noise_rise_db, 2)});
        }
        text_ += table.text();
    }

    /// The table's answers in words, for the position of most gain.
    void write_summary(const SweepRun& run) {
        const auto loudest = std::max_element(
            run.knob.begin(), run.knob.end(), [](const KnobResult& a, const KnobResult& b) {
                return a.measures.gain_1khz_db < b.measures.gain_1khz_db;
            });
        const Measures& m = loudest->measures;
        title(fmt::format("In short, at {} dB", fixed(m.gain_1khz_db, 1)));
        write_bass_summary(*loudest);
        if (loudest->noise_by_part.empty()) return;
        text_ += hanging(fmt::format("  hiss: {} dBu EIN; most of it: {}", fixed(m.ein_dbu, 1),
                                     noisiest_parts(loudest->noise_by_part)),
                         4);
    }

    /// The three parts that hiss most, their mechanisms added up.
    static std::string noisiest_parts(const std::vector<NoiseShare>& shares) {
        std::vector<std::pair<std::string, double>> parts;
        for (const NoiseShare& share : shares) {
            const auto known = std::find_if(parts.begin(), parts.end(), [&](const auto& part) {
                return part.first == share.part;
            });
            if (known == parts.end())
                parts.emplace_back(share.part, share.share);
            else
                known->second += share.share;
        }
        std::stable_sort(parts.begin(), parts.end(),
                         [](const auto& a, const auto& b) { return a.second > b.second; });
        std::string text;
        for (std::size_t k = 0; k < std::min<std::size_t>(3, parts.size()); ++k) {
            if (parts[k].second < smallest_share_shown) break;
            text += fmt::format("{}{} {} %", k == 0 ? "" : ", ", parts[k].first,
                                percent(parts[k].second));
        }
        return text;
    }

    void write_bass_summary(const KnobResult& knob) {
        const PartRolloff* worst = nullptr;
        for (const PartRolloff& part : knob.rolloff) {
            if (!part.rolloff.in_the_way || part.rolloff.loss_db < 0.005) continue;
            if (!worst || part.rolloff.loss_db > worst->rolloff.loss_db) worst = &part;
        }
        const double corner_hz = knob.measures.low_corner_hz;
        std::string text = std::isfinite(corner_hz)
                               ? fmt::format("-3 dB at {}", quantity(corner_hz, Unit::hertz))
                               : "no corner";
        if (worst) {
            text += fmt::format("; {} does most of it, {} dB at 20 Hz", worst->part,
                                fixed(worst->rolloff.loss_db, 2));
        }
        line("  bass: " + text);
    }

    /// Where one assembly was solved with several capsules: side by side.
    void write_capsule_comparison() {
        std::map<std::string, std::vector<const SweepRun*>> by_variant;
        std::vector<std::string> order;
        for (const SweepRun& run : sweep_.runs) {
            if (by_variant[run.variant].empty()) order.push_back(run.variant);
            by_variant[run.variant].push_back(&run);
        }
        for (const std::string& variant : order) {
            const auto& runs = by_variant[variant];
            if (runs.size() > 1) write_comparison(variant, runs);
        }
    }

    void write_comparison(const std::string& variant, const std::vector<const SweepRun*>& runs) {
        title(variant.empty() ? "Capsules compared" : "Capsules compared, variant " + variant);
        Table table(1);
        table.heading({"capsule", "knob", "gain", "20 Hz", "20 kHz", "low", "EIN", "NF", "noise"});
        table.heading({"", "", "1 kHz", "re 1k", "re 1k", "-3 dB", "", "", "rise"});
        table.heading({"", "%", "dB", "dB", "dB", "Hz", "dBu", "dB", "dB"});
        for (const SweepRun* run : runs) {
            for (const std::size_t k : ends_of(*run)) {
                const Measures& m = run->knob[k].measures;
                table.row({run->capsule.empty() ? "(ideal)" : cut(run->capsule, 20),
                           percent(run->knob[k].position), fixed(m.gain_1khz_db, 2),
                           fixed(m.gain_20hz_db - m.gain_1khz_db, 2),
                           fixed(m.gain_20khz_db - m.gain_1khz_db, 2), compact(m.low_corner_hz),
                           fixed(m.ein_dbu, 1), fixed(m.noise_figure_db, 1),
                           fixed(m.capsule_noise_rise_db, 2)});
            }
        }
        text_ += table.text();
    }

    static std::vector<std::size_t> ends_of(const SweepRun& run) {
        if (run.knob.size() == 1) return {0};
        return {0, run.knob.size() - 1};
    }

    const Sweep& sweep_;
    const std::optional<DrawnBoard>& drawn_;
    bool bold_;
    std::string text_;
    std::size_t table_rows_ = 0;
};

}  // namespace

std::string sweep_table(const Sweep& sweep, const std::optional<DrawnBoard>& drawn, bool bold) {
    return SweepWriter(sweep, drawn, bold).text();
}

}  // namespace lowhiss::cli
