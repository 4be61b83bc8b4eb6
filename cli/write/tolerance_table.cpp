#include "write/tolerance_table.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/figure_text.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_parts_blamed = 4;
constexpr std::size_t most_parts_listed = 8;
constexpr std::size_t bins = 40;

std::string share_text(double share) {
    return fmt::format("{:.4g} %", std::round(1e4 * share) / 100);
}

std::string temperature_text(const std::optional<TemperatureRange>& range) {
    if (!range) return "";
    return fmt::format(", temperature {} to {}", print_quantity(range->low_k, Unit::kelvin),
                       print_quantity(range->high_k, Unit::kelvin));
}

class SpreadWriter {
  public:
    SpreadWriter(const SpreadReport& report, bool bold) : report_(report), bold_(bold) {}

    std::string text() {
        write_head();
        write_first_to_tighten();
        write_limits();
        write_response();
        write_figures();
        return std::move(text_);
    }

  private:
    void title(const std::string& text) {
        if (!text_.empty()) text_ += "\n";
        text_ += title_line(text, bold_);
    }

    void write_head() {
        title(board_title(report_.board, report_.revision, report_.variant));
        const bool normal = report_.series.distribution == Distribution::normal;
        text_ += hanging(
            fmt::format("{} boards, seed {}, from board {}, {}{}; {}", report_.boards,
                        report_.series.seed, report_.first,
                        normal ? "normal spread (tolerance = 3 sigma)" : "uniform spread",
                        temperature_text(report_.temperature_range),
                        report_.capsule.empty() ? "ideal source" : "capsule " + report_.capsule),
            2);
        if (report_.partial()) {
            text_ += fmt::format("PARTIAL: interrupted after {} of {} boards\n", report_.boards,
                                 report_.asked);
        }
        write_unsolved();
        const Yield& yield = report_.spread.yield;
        if (report_.spread.limits.empty()) {
            text_ += "no limits defined\n";
            return;
        }
        text_ += hanging(
            fmt::format("{} of {} boards meet every limit: yield {}, 95 % confidence {} to {}",
                        yield.good, yield.count, share_text(yield.share), share_text(yield.low),
                        share_text(yield.high)),
            2);
    }

    void write_unsolved() {
        constexpr std::size_t most_named = 10;
        const auto& without = report_.spread.without_solution;
        if (without.empty()) return;
        std::vector<std::string> names;
        for (const std::uint64_t index : without) {
            if (names.size() == most_named) break;
            names.push_back(std::to_string(index));
        }
        if (without.size() > most_named) {
            names.push_back(fmt::format("{} more", without.size() - most_named));
        }
        text_ +=
            hanging(fmt::format("WITHOUT SOLUTION: {} of {} boards, counted as failures: board {}",
                                without.size(), report_.boards, fmt::join(names, ", ")),
                    2);
        text_ +=
            hanging(fmt::format("  board {}: {}", without.front(), report_.spread.why_without), 4);
    }

    /// About the limit with the smallest margin in sigmas of its figure.
    void write_first_to_tighten() {
        const LimitSpread* nearest = nullptr;
        double least = infinite;
        for (const LimitSpread& limit : report_.spread.limits) {
            const double sigmas = limit.nominal.margin / limit.statistics.sigma;
            if (limit.nominal.is_mask || !(sigmas < least)) continue;
            least = sigmas;
            nearest = &limit;
        }
        if (!nearest || nearest->parts.effects.empty()) return;
        const Verdict& v = nearest->nominal;
        title("Tighten first");
        text_ += hanging(fmt::format("smallest margin: '{}', {}: {:.1f} sigma", v.limit,
                                     place_text(v.variant, v.capsule, v.knob), least),
                         2);
        if (v.outcome == Outcome::fail) {
            text_ += "  the nominal board fails it: change values, not tolerances\n";
        }
        text_ += hanging(
            fmt::format("  sigma expected from uniform part tolerances alone {}, observed {}",
                        delta_text(sigma_of_parts(nearest->parts.effects), v.unit),
                        delta_text(nearest->statistics.sigma, v.unit)),
            4);
        Table table(1);
        table.heading({"part", sensitivity_unit(v.unit), "tolerance", "largest change", "share"});
        const std::vector<double> shares = shares_of_variance(nearest->parts.effects);
        for (std::size_t k = 0; k < std::min(most_parts_listed, shares.size()); ++k) {
            const PartEffect& effect = nearest->parts.effects[k];
            const double per_percent = (v.unit == Unit::fraction ? 100 : 1) * effect.per_percent;
            table.row({effect.part, fixed(per_percent, 4), tolerance_text(effect.tolerance),
                       delta_text(largest(effect), v.unit),
                       std::isfinite(shares[k]) ? share_text(shares[k]) : "-"});
        }
        text_ += table.text();
    }

    static std::string sensitivity_unit(Unit unit) {
        if (unit == Unit::degree) return "deg per %";
        if (unit == Unit::second) return "s per %";
        return unit == Unit::hertz || unit == Unit::ohm || unit == Unit::fraction ? "% per %"
                                                                                  : "dB per %";
    }

    /// For independent uniform values and figures that are linear between the ends.
    static double sigma_of_parts(const std::vector<PartEffect>& effects) {
        double sum = 0;
        for (const PartEffect& effect : effects) {
            const double width = effect.at_high_end - effect.at_low_end;
            if (std::isfinite(width)) sum += width * width / 12;
        }
        return std::sqrt(sum);
    }

    static std::string tolerance_text(const Tolerance& tolerance) {
        if (tolerance.low == -tolerance.high) return "±" + share_text(tolerance.high);
        return fmt::format("{:+.4g} {:+.4g} %", 100 * tolerance.low, 100 * tolerance.high);
    }

    static double largest(const PartEffect& effect) {
        return std::max(std::abs(effect.at_low_end), std::abs(effect.at_high_end));
    }

    /// The range of the gain curves of all boards, relative to the nominal board.
    void write_response() {
        const Envelope& e = report_.spread.response;
        const std::size_t count = e.frequency_hz.size();
        if (e.nominal_db.empty()) return;
        title("Gain relative to the nominal board, lowest and highest, dB");
        Table table(1);
        std::vector<std::string> heading{"knob"};
        constexpr std::array<std::size_t, 5> shown{0, 7, 17, 27, 30};
        for (const std::size_t i : shown) {
            heading.push_back(print_quantity(e.frequency_hz[i], Unit::hertz, 2));
        }
        table.heading(heading);
        for (std::size_t k = 0; k < e.knob.size(); ++k) {
            std::vector<std::string> cells{
                std::isnan(e.knob[k]) ? "all" : fmt::format("{:.4g} %", 100 * e.knob[k])};
            for (const std::size_t i : shown) {
                const std::size_t at = k * count + i;
                const double low = e.least_db[at] - e.nominal_db[at];
                const double high = e.most_db[at] - e.nominal_db[at];
                cells.push_back(std::isfinite(low) ? fmt::format("{:+.2f} {:+.2f}", low, high)
                                                   : "-");
            }
            table.row(std::move(cells));
        }
        text_ += table.text();
    }

    void write_limits() {
        std::vector<const LimitSpread*> ranked;
        for (const LimitSpread& limit : report_.spread.limits) ranked.push_back(&limit);
        std::stable_sort(ranked.begin(), ranked.end(),
                         [](const LimitSpread* a, const LimitSpread* b) {
                             return a->yield.good < b->yield.good;
                         });
        for (const LimitSpread* limit : ranked) write_limit(*limit);
    }

    void write_limit(const LimitSpread& limit) {
        const Verdict& v = limit.nominal;
        title(fmt::format("{}: {}", v.limit, place_text(v.variant, v.capsule, v.knob)));
        if (v.outcome == Outcome::not_computed) {
            text_ += "  " + v.reason + "\n";
            return;
        }
        const Statistics& s = limit.statistics;
        text_ += fmt::format("  {} of {} boards meet {} {}\n", limit.yield.good, limit.yield.count,
                             v.measure, v.is_mask ? "within its mask" : bounds_text(v));
        if (v.is_mask) {
            text_ += fmt::format("  worst board: {}\n", limit.worst_board);
            return;  // the boards' values are at different frequencies
        }
        text_ += fmt::format("  nominal {}, mean {}, sigma {}\n", figure_text(s.nominal, v.unit),
                             figure_text(s.mean, v.unit), delta_text(s.sigma, v.unit));
        write_histogram(limit);
        text_ += fmt::format("  worst board: {}; worst case of all tolerances: {} to {}\n",
                             limit.worst_board, figure_text(limit.parts.worst_case_low, v.unit),
                             figure_text(limit.parts.worst_case_high, v.unit));
        std::vector<std::string> parts;
        for (const PartEffect& effect : limit.parts.effects) {
            const double most = largest(effect);
            if (parts.size() == most_parts_blamed || !(most > 0)) break;
            parts.push_back(fmt::format("{} {}", effect.part, delta_text(most, v.unit)));
        }
        if (!parts.empty()) text_ += wrapped_list("largest contributions", parts);
    }

    /// A histogram from the smallest value to the largest.
    void write_histogram(const LimitSpread& limit) {
        const Statistics& s = limit.statistics;
        const double width = s.max - s.min;
        if (s.count < 2 || !(width > 0) || !std::isfinite(width)) return;
        std::array<std::size_t, bins> counts{};
        for (const double value : limit.values) {
            if (!std::isfinite(value)) continue;
            const double place = (value - s.min) / width * static_cast<double>(bins);
            ++counts[std::min(bins - 1, static_cast<std::size_t>(place))];
        }
        static constexpr std::array<std::string_view, 9> blocks{" ", "▁", "▂", "▃", "▄",
                                                                "▅", "▆", "▇", "█"};
        const auto most = static_cast<double>(*std::max_element(counts.begin(), counts.end()));
        std::string bars;
        for (const std::size_t count : counts) {
            const auto height =
                static_cast<std::size_t>(std::ceil(8 * static_cast<double>(count) / most));
            bars += blocks[height];
        }
        text_ += fmt::format("  {} {} {}\n", figure_text(s.min, limit.nominal.unit), bars,
                             figure_text(s.max, limit.nominal.unit));
    }

    static std::string value_text(double value, Unit unit) {
        if (by_difference(unit)) return fixed(value, 2);
        return unit == Unit::volt && std::isfinite(value) ? print_quantity(value, unit, 3)
                                                          : compact(value);
    }

    void write_figures() {
        title("Spread of every figure by knob position");
        Table table(1);
        table.heading({"", "nominal", "mean", "sigma", "1 %", "99 %", "min", "max"});
        std::string last;
        for (const StandardFigure& standard : standard_figures()) {
            for (const FigureSpread& figure : report_.spread.figures) {
                if (figure.figure.figure != &standard) continue;
                if (last != standard.name) table.section(section_text(standard));
                last = standard.name;
                add_row(figure, table);
            }
        }
        text_ += table.text();
    }

    static std::string section_text(const StandardFigure& standard) {
        const Unit unit = standard.measure->unit;
        if (unit == Unit::volt) return std::string(standard.name);
        return fmt::format("{}, {}", standard.name, info(unit).symbol);
    }

    static void add_row(const FigureSpread& figure, Table& table) {
        const Unit unit = figure.figure.figure->measure->unit;
        const Statistics& s = figure.statistics;
        std::vector<std::string> cells{std::isnan(figure.figure.knob)
                                           ? "  all"
                                           : fmt::format("  {:.4g} %", 100 * figure.figure.knob)};
        for (const double value :
             {s.nominal, s.mean, s.sigma, s.percentile_1, s.percentile_99, s.min, s.max}) {
            cells.push_back(value_text(value, unit));
        }
        table.row(std::move(cells));
    }

    const SpreadReport& report_;
    bool bold_;
    std::string text_;
};

}  // namespace

std::string tolerance_table(const SpreadReport& report, bool bold) {
    return SpreadWriter(report, bold).text();
}

}  // namespace lowhiss::cli
