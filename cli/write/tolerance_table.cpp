#include "write/tolerance_table.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/figure_text.hpp"
#include "write/shell_word.hpp"
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
        write_centring();
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
        for (const PlacedFault& placed : report_.spread.faults) {
            text_ += hanging("FAULT on the nominal board: supply: " + text_of(placed), 2);
        }
        if (report_.spread.faulty_boards > 0) {
            text_ += hanging(fmt::format("{} of {} boards have a supply fault",
                                         report_.spread.faulty_boards, yield.count),
                             2);
        }
        if (report_.spread.limits.empty() && report_.spread.faulty_boards == 0) {
            text_ += "no limits defined\n";
            return;
        }
        text_ += hanging(
            fmt::format("{} of {} boards meet every limit{}: yield {}, 95 % confidence {} to {}",
                        yield.good, yield.count,
                        report_.spread.faulty_boards > 0 ? " without such a fault" : "",
                        share_text(yield.share), share_text(yield.low), share_text(yield.high)),
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
            hanging(fmt::format("NO SOLUTION for {} of {} boards, counted as failures: board {}",
                                without.size(), report_.boards, fmt::join(names, ", ")),
                    2);
        text_ +=
            hanging(fmt::format("  board {}: {}", without.front(), report_.spread.why_without), 4);
    }

    /// A value that is off the middle is cheaper to change than a tolerance.
    void write_centring() {
        if (!report_.centring) return;
        const Centring& c = *report_.centring;
        const Verdict& v = c.limit;
        title("Centre first");
        text_ += hanging(fmt::format("'{}', {}: the nominal board is {:.1f} sigma {} the middle of "
                                     "its bounds",
                                     v.limit, place_text(v.variant, v.capsule, v.knob),
                                     std::abs(c.off_sigma), c.off_sigma > 0 ? "above" : "below"),
                         2);
        text_ += hanging(
            fmt::format("  {} {} instead of {} ({}): {:.1f} sigma {}; yield {} instead of {}{}",
                        fmt::join(c.parts, " and "), print_quantity(c.value, c.unit),
                        print_quantity(c.drawn, c.unit, 4), c.series, std::abs(c.off_sigma_then),
                        c.off_sigma_then > 0 ? "above" : "below", share_text(c.yield_then.share),
                        share_text(c.yield.share),
                        c.yield.count < report_.boards
                            ? fmt::format(" of the first {} boards", c.yield.count)
                            : ""),
            4);
        std::string options = assembly_options();
        for (const std::string& part : c.parts) {
            options += " --set " + shell_word(part + "=" + print_quantity(c.value, c.unit));
        }
        text_ += fmt::format("  to try it: lowhiss tolerance {}{}\n", options, series_options());
    }

    void write_first_to_tighten() {
        const LimitSpread* nearest = least_room(report_.spread);
        if (!nearest || nearest->parts.effects.empty()) return;
        const Verdict& v = nearest->nominal;
        title("Tighten first");
        text_ += hanging(
            fmt::format("'{}', {}, has the least room: {}", v.limit,
                        place_text(v.variant, v.capsule, v.knob), room_text(nearest->room, v.unit)),
            2);
        if (v.outcome == Outcome::fail) {
            std::string line = "  the nominal board fails it: change values, not tolerances";
            if (!v.look_at.empty())
                line += fmt::format("; main parts: {}", fmt::join(v.look_at, ", "));
            text_ += hanging(line, 4);
        }
        text_ += hanging(worst_text(*nearest), 4);
        // Not broken, so that it can be copied.
        text_ += fmt::format("  that board: lowhiss sweep {}\n", worst_options());
        if (by_exchange(*nearest)) text_ += hanging(together_text(*nearest), 4);
        text_ += hanging(shares_text(*nearest), 4);
        write_effects(*nearest);
        if (!report_.not_varied.empty()) text_ += wrapped_list("not varied", report_.not_varied);
    }

    static bool by_exchange(const LimitSpread& limit) {
        return limit.shares.method == VarianceShares::Method::exchange;
    }

    std::string room_text(const Room& room, Unit unit) const {
        std::string failing = fmt::format("{} of {} boards fail", room.failing, report_.boards);
        if (std::isnan(room.sigma)) return failing;
        const double least = room.percentile_1;
        const std::string most =
            least >= 0
                ? fmt::format("99 % of boards have at least {} of margin", delta_text(least, unit))
                : fmt::format("1 % of boards miss it by {} or more", delta_text(-least, unit));
        const std::string sigmas =
            room.sigma > 0 ? fmt::format(" ({:.1f} sigma)", room.sigmas()) : "";
        return fmt::format("{}; {}; the mean margin is {}{}", failing, most,
                           delta_text(room.mean, unit), sigmas);
    }

    /// "worst found: 39.30 dB, which fails by 0.70 dB"
    static std::string worst_text(const LimitSpread& limit) {
        const FoundEnd& end = limit.found.worst();
        const Unit unit = limit.nominal.unit;
        if (std::isnan(end.value)) return "  worst found: the figure does not exist anywhere";
        const std::string margin =
            end.margin < 0 ? fmt::format("fails by {}", delta_text(-end.margin, unit))
                           : fmt::format("with {} of margin", delta_text(end.margin, unit));
        const std::string where =
            end.board ? fmt::format("board {} of the series; no corner tried is worse", *end.board)
                      : "a corner, each part at an end of its range";
        return fmt::format("  worst found: {}, {} ({})", figure_text(end.value, unit), margin,
                           where);
    }

    /// The path and options of a sweep of the worst board.
    std::string worst_options() const {
        return assembly_options() + " --board-index worst" + series_options();
    }

    /// The path of the board, and what was chosen and altered of it.
    std::string assembly_options() const {
        std::string text = shell_word(report_.path);
        if (!report_.variant.empty()) text += " --variant " + shell_word(report_.variant);
        for (const std::string& set : report_.set) text += " --set " + shell_word(set);
        return text;
    }

    /// The options of the series that are not the usual ones.
    std::string series_options() const {
        std::string text;
        constexpr std::size_t usual_boards = 1000;
        if (report_.boards != usual_boards) text += fmt::format(" --boards {}", report_.boards);
        if (report_.first != 0) text += fmt::format(" --first {}", report_.first);
        if (report_.series.seed != 1) text += fmt::format(" --seed {}", report_.series.seed);
        if (report_.series.distribution == Distribution::normal) text += " --spread normal";
        return text;
    }

    /// "R1, R2, R3, R4 together cause 99 % of the variance"
    static std::string together_text(const LimitSpread& limit) {
        std::vector<std::string> names;
        for (const std::size_t k : limit.shares.together) {
            names.push_back(text_of(limit.parts.effects[k].draw));
        }
        return fmt::format("  {} {} of the variance", fmt::join(names, ", "),
                           (names.size() > 1 ? "together cause " : "causes ") +
                               share_text(rounded(limit.shares.together_share)));
    }

    static std::string shares_text(const LimitSpread& limit) {
        const VarianceShares& shares = limit.shares;
        const std::string explained =
            std::isnan(shares.explained) ? "" : share_text(rounded(shares.explained));
        if (shares.method == VarianceShares::Method::exchange) {
            return fmt::format(
                "  shares: by exchanging each part between boards, interactions included; the "
                "effects of single parts explain {} of the variance",
                explained);
        }
        if (explained.empty()) return "  shares: from the effect of each part alone";
        return fmt::format(
            "  shares: from the effect of each part alone; together they explain {} of the "
            "variance",
            explained);
    }

    /// The estimate is no better than a whole percent.
    static double rounded(double share) { return std::round(100 * share) / 100; }

    void write_effects(const LimitSpread& limit) {
        const Verdict& v = limit.nominal;
        const bool exchanged = by_exchange(limit);
        const std::vector<double>& shares = limit.shares.shares;
        std::vector<std::size_t> ranked(shares.size());
        std::iota(ranked.begin(), ranked.end(), std::size_t{0});
        if (exchanged) {
            std::stable_sort(ranked.begin(), ranked.end(),
                             [&](std::size_t a, std::size_t b) { return shares[a] > shares[b]; });
        }
        Table table(1);
        table.heading({"part", sensitivity_unit(v.unit), "range", "largest change", "share"});
        ranked.resize(std::min(most_parts_listed, ranked.size()));
        for (const std::size_t k : ranked) {
            const PartEffect& effect = limit.parts.effects[k];
            const double share = exchanged ? rounded(shares[k]) : shares[k];
            const double per_percent = (v.unit == Unit::fraction ? 100 : 1) * effect.per_percent;
            // A slope of the nominal board that explains nothing is left out.
            table.row({text_of(effect.draw), fixed(exchanged ? unset : per_percent, 4),
                       range_text(effect.draw), delta_text(largest(effect), v.unit),
                       std::isfinite(share) ? share_text(share) : "-"});
        }
        text_ += table.text();
    }

    static std::string sensitivity_unit(Unit unit) {
        if (unit == Unit::degree) return "deg per %";
        if (unit == Unit::second) return "s per %";
        return unit == Unit::hertz || unit == Unit::ohm || unit == Unit::fraction ? "% per %"
                                                                                  : "dB per %";
    }

    static std::string range_text(const Draw& draw) {
        if (draw.kind == DrawKind::model) return "to worst";
        if (draw.kind == DrawKind::spread) return "spread";
        if (draw.kind == DrawKind::temperature) {
            return fmt::format("{} to {}", print_quantity(draw.low, Unit::kelvin),
                               print_quantity(draw.high, Unit::kelvin));
        }
        if (draw.kind != DrawKind::part && draw.kind != DrawKind::group) {
            return fmt::format("±{:.4g} ppm/K", 1e6 * draw.high);
        }
        if (draw.low == -draw.high) return "±" + share_text(draw.high);
        return fmt::format("{:+.4g} {:+.4g} %", 100 * draw.low, 100 * draw.high);
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
        if (v.outcome == Outcome::not_known) {
            text_ += fmt::format("  no board is known to meet {} {}\n", v.measure,
                                 v.is_mask ? "within its mask" : bounds_text(v));
            text_ += hanging("  " + v.reason, 4);
            return;
        }
        const Statistics& s = limit.statistics;
        if (v.outcome == Outcome::not_computed) {
            text_ += "  nominal board: " + v.reason + "\n";
            if (s.count == 0) return;
        }
        text_ += fmt::format("  {} of {} boards meet {} {}\n", limit.yield.good, limit.yield.count,
                             v.measure, v.is_mask ? "within its mask" : bounds_text(v));
        if (v.is_mask) {  // the boards' values are at different frequencies
            text_ += fmt::format("  worst board of the series: {}\n", limit.worst_board);
            text_ += hanging(worst_text(limit), 4);
            return;
        }
        text_ += fmt::format("  nominal {}, mean {}, sigma {}\n", figure_text(s.nominal, v.unit),
                             figure_text(s.mean, v.unit), delta_text(s.sigma, v.unit));
        write_histogram(limit);
        text_ += fmt::format("  worst board of the series: {}\n", limit.worst_board);
        text_ += hanging(worst_text(limit), 4);
        text_ += fmt::format("  extremes found: {} and {}\n",
                             figure_text(limit.found.lowest.value, v.unit),
                             figure_text(limit.found.highest.value, v.unit));
        write_causes(limit);
    }

    void write_causes(const LimitSpread& limit) {
        if (by_exchange(limit)) {
            text_ += hanging(together_text(limit), 4);
            return;
        }
        std::vector<std::string> parts;
        for (const PartEffect& effect : limit.parts.effects) {
            const double most = largest(effect);
            if (parts.size() == most_parts_blamed || !(most > 0)) break;
            parts.push_back(
                fmt::format("{} {}", text_of(effect.draw), delta_text(most, limit.nominal.unit)));
        }
        if (!parts.empty()) text_ += wrapped_list("largest changes", parts);
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
        const auto& figures = report_.spread.figures;
        if (std::any_of(figures.begin(), figures.end(),
                        [](const FigureSpread& figure) { return figure.figure.best_case; })) {
            text_ +=
                hanging(fmt::format("  {} best case on every board: a model lacks a figure that "
                                    "it depends on; lowhiss sweep names it",
                                    best_case_mark),
                        4);
        }
    }

    static std::string section_text(const StandardFigure& standard) {
        const Unit unit = standard.measure->unit;
        if (unit == Unit::volt) return std::string(standard.name);
        const std::string_view symbol = info(unit).symbol;
        return symbol.empty() ? std::string(standard.name)
                              : fmt::format("{}, {}", standard.name, symbol);
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
        cells[1] = marked(cells[1], figure.figure.best_case);
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
