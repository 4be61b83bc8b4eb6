#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/choose_report.hpp"
#include "write/figure_text.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t widest_value = 20;
constexpr std::size_t most_noisy_parts = 4;
constexpr std::size_t sets_in_a_row = 4;

std::string whole(double count) {
    return count < 1e6 ? fmt::format("{:.0f}", count) : fmt::format("{:.3g}", count);
}

std::string at_knob(double knob) {
    return std::isnan(knob) ? "" : fmt::format(", at knob {:.4g} %", 100 * knob);
}

/// The verdict with the least margin at any place of a limit: one that fails, else one that is not
/// known. Null where the limit has none.
const Verdict* least_margin(const std::vector<Verdict>& verdicts, const std::string& limit) {
    const Verdict* least = nullptr;
    const Verdict* unknown = nullptr;
    for (const Verdict& v : verdicts) {
        if (!v.of_limit || v.limit != limit) continue;
        if (v.outcome == Outcome::not_known || std::isnan(v.margin)) {
            if (!unknown) unknown = &v;
        } else if (!least || v.margin_db < least->margin_db) {
            least = &v;
        }
    }
    const bool fails = least && least->outcome == Outcome::fail;
    return unknown && !fails ? unknown : least;
}

std::string margin_cell(const Verdict* v) {
    if (!v) return "-";
    if (v->outcome == Outcome::not_known) return "not known";
    if (std::isnan(v->margin)) return "no figure";
    return delta_text(v->margin, v->unit);
}

class ChooseWriter {
  public:
    ChooseWriter(const ChooseReport& report, bool bold)
        : report_(report), choose_(*report.board->choose), chosen_(report.chosen), bold_(bold) {}

    std::string text() {
        write_head();
        if (chosen_.best.empty())
            write_misses();
        else
            write_sets();
        return std::move(text_);
    }

  private:
    void title(const std::string& text) {
        if (!text_.empty()) text_ += "\n";
        text_ += title_line(text, bold_);
    }

    void line(std::string_view label, const std::string& words) {
        text_ += hanging(fmt::format("  {:<8}  {}", label, words), 12);
    }

    void write_head() {
        title(board_title(report_.board->name, report_.board->revision));
        std::vector<std::string> open;
        for (const OpenValue& each : choose_.open) {
            open.push_back(fmt::format("{} ({} value{})", open_name(each), each.values.size(),
                                       each.values.size() == 1 ? "" : "s"));
        }
        line("Open", fmt::format("{}", fmt::join(open, ", ")));
        line("Aim", aim_text(choose_));
        line("Sets", counted());
        if (chosen_.refused > 0) {
            line("Refused", fmt::format("{} set{} that meet{} every limit; the best of them: {}",
                                        chosen_.refused, chosen_.refused == 1 ? "" : "s",
                                        chosen_.refused == 1 ? "s" : "", chosen_.why_refused));
        }
    }

    std::string counted() const {
        const std::size_t limits = report_.board->limits.size();
        const std::string which = limits == 1   ? "the limit"
                                  : limits == 2 ? "both limits"
                                                : fmt::format("all {} limits", limits);
        const std::string fit =
            limits == 0
                ? "the board has no limits"
                : fmt::format("{} {} {}", chosen_.fit, chosen_.fit == 1 ? "meets" : "meet", which);
        if (chosen_.complete && !chosen_.stopped) {
            return fmt::format("{}, every one computed; {}", whole(chosen_.sets), fit);
        }
        if (chosen_.complete && static_cast<double>(chosen_.tried) < chosen_.sets) {
            return fmt::format("INTERRUPTED after {} of {}; of these, {}; there may be better ones",
                               chosen_.tried, whole(chosen_.sets), fit);
        }
        if (chosen_.complete) {
            return fmt::format(
                "{}, every one computed; INTERRUPTED while the best were checked in full; {}",
                whole(chosen_.sets), fit);
        }
        return fmt::format(
            "{}, too many to compute: SEARCHED from {} random sets, seed {}{}; {} computed; {}; "
            "the best was found from {} of them; there may be better ones",
            whole(chosen_.sets), chosen_.starts, report_.request.seed,
            chosen_.stopped ? ", INTERRUPTED" : "", chosen_.tried, fit, chosen_.reached);
    }

    const Judge::Verdicts& verdicts_of(std::size_t row) const {
        return row == 0 ? chosen_.drawn.verdicts : chosen_.best[row - 1].verdicts;
    }

    static std::string name_of(std::size_t row) { return row == 0 ? "drawn" : std::to_string(row); }

    std::string value_cell(const OpenValue& open, const ValueSet& values, std::size_t k) const {
        if (!values.empty()) return cut(open.values[values[k]], widest_value);
        return cut(drawn_value(open), widest_value);
    }

    std::string drawn_value(const OpenValue& open) const {
        std::vector<std::string> values;
        for (const OpenValue::Member& member : open.parts) {
            std::string value = lowhiss::value_text(*find_part(*report_.board, member.part));
            if (std::find(values.begin(), values.end(), value) == values.end()) {
                values.push_back(std::move(value));
            }
        }
        return fmt::format("{}", fmt::join(values, ", "));
    }

    std::string aim_cell(const Judge::Verdicts& verdicts) const {
        if (choose_.aim == Choose::Aim::centred) {
            return std::isnan(verdicts.room) ? "-" : percent(verdicts.room) + " %";
        }
        const Verdict& v = verdicts.figure;
        return marked(figure_text(v.value, v.unit), !v.assumes_ideal.empty());
    }

    double figure_of(std::size_t row, std::string_view name) const {
        for (const Figure& figure : report_.positions[row].figures) {
            if (figure.figure->name == name) return figure.value;
        }
        return unset;
    }

    void write_sets() {
        title("Best sets of values, best first");
        write_values();
        title("Their figures" + at_knob(report_.knob));
        write_figures();
        write_notes();
        write_room();
        write_noise();
        if (!report_.applied.empty()) {
            text_ += "\n" + hanging("set 1 written to " + report_.applied, 2);
        }
    }

    std::size_t rows() const { return report_.positions.size(); }

    /// As many open values side by side as fit.
    void write_values() {
        std::size_t begin = 0;
        while (begin < choose_.open.size()) {
            std::size_t width = 2 + 5;
            std::vector<std::vector<std::string>> columns;
            while (begin + columns.size() < choose_.open.size()) {
                std::vector<std::string> column = column_of(begin + columns.size());
                std::size_t widest = 0;
                for (const std::string& cell : column) widest = std::max(widest, width_of(cell));
                if (!columns.empty() && width + 2 + widest > 80) break;
                width += 2 + widest;
                columns.push_back(std::move(column));
            }
            Table table(1);
            std::vector<std::string> heading{"set"};
            for (const auto& column : columns) heading.push_back(column.front());
            table.heading(std::move(heading));
            for (std::size_t row = 0; row < rows(); ++row) {
                std::vector<std::string> cells{name_of(row)};
                for (const auto& column : columns) cells.push_back(column[row + 1]);
                table.row(std::move(cells));
            }
            text_ += table.text();
            begin += columns.size();
        }
    }

    /// The name of an open value, then what it is in each row.
    std::vector<std::string> column_of(std::size_t k) const {
        std::vector<std::string> column{cut(open_name(choose_.open[k]), 24)};
        const ValueSet none;
        for (std::size_t row = 0; row < rows(); ++row) {
            const ValueSet& values = row == 0 ? none : chosen_.best[row - 1].values;
            column.push_back(value_cell(choose_.open[k], values, k));
        }
        return column;
    }

    void write_figures() {
        const bool centred = choose_.aim == Choose::Aim::centred;
        const std::string aim = centred ? "room" : std::string(choose_.figure.measure->name);
        Table table(1);
        std::vector<std::string> heading{"set", aim, "gain", "EIN", "low", "high"};
        if (!report_.yields.empty()) heading.emplace_back("yield");
        table.heading(std::move(heading));
        for (std::size_t row = 0; row < rows(); ++row) {
            std::vector<std::string> cells{name_of(row),
                                           aim_cell(verdicts_of(row)),
                                           fixed(figure_of(row, "gain"), 2),
                                           fixed(figure_of(row, "ein"), 2),
                                           compact(figure_of(row, "low_corner")),
                                           compact(figure_of(row, "high_corner"))};
            if (!report_.yields.empty()) {
                const bool known = row < report_.yields.size();
                cells.push_back(known ? percent_text(report_.yields[row].share) : "-");
            }
            table.row(std::move(cells));
        }
        text_ += table.text();
    }

    static std::string percent_text(double share) {
        return std::isnan(share) ? "-" : fmt::format("{:.4g} %", 100 * share);
    }

    void write_notes() {
        if (choose_.aim == Choose::Aim::centred) {
            text_ += hanging(
                "  room: least margin of the limits with two bounds; 100 % is their middle", 4);
        } else if (const Verdict& v = chosen_.best.front().verdicts.figure; !v.variant.empty()) {
            text_ += hanging(fmt::format("  {}: where it is worst; of set 1 at {}", v.measure,
                                         place_text(v.variant, v.capsule, v.knob)),
                             4);
        }
        std::string where = report_.variant.empty() ? "" : "variant " + report_.variant + "; ";
        text_ += hanging(
            fmt::format("  {}gain in dB at 1 kHz, EIN in dBu, -3 dB corners in Hz", where), 4);
        if (report_.boards > 0 && report_.yields.size() < rows()) {
            text_ += hanging("  yield: INTERRUPTED; not computed for the sets without one", 4);
        }
        if (report_.yields.size() < 2) return;
        const Yield& first = report_.yields[1];
        text_ += hanging(
            fmt::format("  yield: share of {} random boards, seed {}, {} spread, that meet every "
                        "limit; of set 1 from {} to {} with 95 % confidence",
                        report_.boards, report_.series.seed,
                        report_.series.distribution == Distribution::normal ? "normal" : "uniform",
                        percent_text(first.low), percent_text(first.high)),
            4);
    }

    void write_room() {
        if (report_.board->limits.empty()) return;
        for (std::size_t from = 0; from < chosen_.best.size(); from += sets_in_a_row) {
            const std::size_t to = std::min(chosen_.best.size(), from + sets_in_a_row);
            title("Smallest margin to each limit");
            Table table(1);
            std::vector<std::string> heading{"limit", "drawn"};
            for (std::size_t k = from; k < to; ++k) heading.push_back("set " + name_of(k + 1));
            table.heading(std::move(heading));
            for (const Limit& limit : report_.board->limits) {
                std::vector<std::string> cells{cut(limit.name, 28)};
                cells.push_back(margin_cell(least_margin(verdicts_of(0).limits, limit.name)));
                for (std::size_t k = from; k < to; ++k) {
                    cells.push_back(
                        margin_cell(least_margin(verdicts_of(k + 1).limits, limit.name)));
                }
                table.row(std::move(cells));
            }
            text_ += table.text();
        }
    }

    void write_noise() {
        title("Noise: EIN in dBu, and the noisiest parts (V rms at the input)" +
              at_knob(report_.knob));
        for (std::size_t row = 0; row < report_.positions.size(); ++row) {
            std::vector<std::string> parts;
            for (const InputNoise& part : report_.positions[row].noise) {
                if (parts.size() == most_noisy_parts || part.share < smallest_share_shown) break;
                parts.push_back(
                    fmt::format("{} {}", part.part, print_quantity(part.input_v, Unit::volt, 3)));
            }
            const std::string head =
                fmt::format("  {:<5}  {:>7}  ", name_of(row), fixed(figure_of(row, "ein"), 1));
            const std::string words =
                parts.empty() ? "no noise" : fmt::format("{}", fmt::join(parts, ", "));
            std::string wrapped = hanging(std::string(head.size(), ' ') + words, head.size());
            text_ += wrapped.replace(0, head.size(), head);
        }
    }

    /// Without a good set: the limits that exclude the sets, and the sets that miss least.
    void write_misses() {
        const bool all = chosen_.complete && !chosen_.stopped;
        title(chosen_.fit > 0 ? "Every set that meets the limits has another fault"
              : all           ? "No set meets every limit"
                              : "No computed set meets every limit");
        if (chosen_.fit > 0) return;
        for (const LimitCount& count : chosen_.counts) {
            const std::string met =
                count.tried == 0
                    ? "not computed, as no set meets the limits that are computed first"
                    : fmt::format("met by {} of {} sets", count.meet, count.tried);
            const bool some = count.tried > 0 && count.tried < chosen_.tried;
            text_ += hanging(fmt::format("  {}: {}{}", count.limit, met,
                                         some ? " that meet those computed first" : ""),
                             4);
        }
        if (chosen_.near.empty()) return;
        const ChosenSet& nearest = chosen_.near.front();
        std::vector<std::string> values;
        for (std::size_t k = 0; k < choose_.open.size(); ++k) {
            values.push_back(fmt::format("{} {}", open_name(choose_.open[k]),
                                         choose_.open[k].values[nearest.values[k]]));
        }
        title(fmt::format("Nearest: {}", fmt::join(values, ", ")));
        for (const Verdict& v : nearest.verdicts.limits) {
            if (is_good(v)) continue;
            const std::string what = v.reason.empty()
                                         ? fmt::format("{}, limit {}, margin {}", measured_text(v),
                                                       bounds_text(v), delta_text(v.margin, v.unit))
                                         : v.reason;
            text_ += hanging(fmt::format("  {:<7} {}: {}: {}", outcome_word(v.outcome), v.limit,
                                         place_text(v.variant, v.capsule, v.knob), what),
                             10);
        }
    }

    const ChooseReport& report_;
    const Choose& choose_;
    const Chosen& chosen_;
    bool bold_;
    std::string text_;
};

}  // namespace

std::string open_name(const OpenValue& open) {
    std::vector<std::string> names;
    for (const OpenValue::Member& member : open.parts) names.push_back(member.part);
    return fmt::format("{}", fmt::join(names, " = "));
}

std::string aim_text(const Choose& choose) {
    if (choose.aim == Choose::Aim::centred) return "the middle of the limits with two bounds";
    const Limit& figure = choose.figure;
    std::string text = fmt::format("{} {}", choose.aim == Choose::Aim::least ? "least" : "most",
                                   figure.measure->name);
    if (figure.measure->takes_at) {
        text += " at " + print_quantity(figure.arguments.at_hz, Unit::hertz, 4);
    }
    if (!figure.arguments.part.empty()) text += " of " + figure.arguments.part;
    std::vector<std::string> where;
    for (const std::string& name : figure.variants) where.push_back(name);
    for (const std::string& name : figure.capsules) where.push_back(name);
    for (const double knob : figure.knob) where.push_back(fmt::format("knob {:.4g} %", 100 * knob));
    if (!where.empty()) text += fmt::format(", {}", fmt::join(where, ", "));
    return text + ", where it is worst";
}

std::string choose_table(const ChooseReport& report, bool bold) {
    return ChooseWriter(report, bold).text();
}

}  // namespace lowhiss::cli
