#include "write/compare_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/quantity/decimal.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_changes_shown = 40;
constexpr std::size_t most_parts_named = 4;
constexpr std::size_t others_in_a_row = 3;  ///< beside the first board, in 80 columns
constexpr double smallest_loss_shown_db = 0.005;

constexpr double smallest_step_db = 0.005;      ///< what two decimals show
constexpr double smallest_step_percent = 0.05;  ///< what one decimal shows

/// Whether figures are printed with prefix and unit, as 5.6 µV.
bool is_small(Unit unit) {
    return unit == Unit::volt || unit == Unit::second;
}

/// The difference of a figure from that of the first board.
struct Difference {
    enum class Form { unknown, none, plain, percent, factor, other };
    Form form = Form::unknown;
    double size = unset;
};

Difference difference(const Figure* before, const Figure* after) {
    using Form = Difference::Form;
    if (!before || !after || std::isnan(before->value) || std::isnan(after->value)) return {};
    if (before->value == after->value) return {Form::none, 0};
    const bool plain = by_difference(after->figure->measure->unit);
    const double ratio = after->value / before->value;
    const double size = plain ? after->value - before->value : 100 * (ratio - 1);
    if (!std::isfinite(size)) return {};
    if (after->figure->measure->unit == Unit::polarity) return {Difference::Form::other, size};
    if (std::abs(size) < (plain ? smallest_step_db : smallest_step_percent)) return {Form::none, 0};
    if (!plain && size > 900) return {Form::factor, ratio};
    return {plain ? Form::plain : Form::percent, size};
}

std::string printed_difference(const Difference& difference) {
    const std::string sign = difference.size > 0 ? "+" : "";
    switch (difference.form) {
        case Difference::Form::unknown:
            return "-";
        case Difference::Form::none:
            return "=";
        case Difference::Form::plain:
            return sign + fixed(difference.size, 2);
        case Difference::Form::percent:
            return sign + fixed(difference.size, 1) + " %";
        case Difference::Form::other:
            return "changed";
        case Difference::Form::factor:
            return fmt::format("x {:.3g}", difference.size);
    }
    return "";
}

/// Whether two figures are the same to the digits that are printed of them.
bool print_alike(const Figure& a, const Figure& b) {
    if (std::isnan(a.value) || std::isnan(b.value))
        return std::isnan(a.value) == std::isnan(b.value);
    if (!std::isfinite(a.value) || !std::isfinite(b.value)) return a.value == b.value;
    if (by_difference(a.figure->measure->unit)) {
        return std::round(100 * a.value) == std::round(100 * b.value);
    }
    return rounded_decimal(a.value, 3) == rounded_decimal(b.value, 3);
}

class CompareWriter {
  public:
    CompareWriter(const ComparisonReport& report, bool bold) : report_(report), bold_(bold) {}

    std::string text() {
        write_names();
        if (report_.varied.empty()) write_changes();
        if (report_.varied.size() == 2)
            write_crosses();
        else
            write_all_figures();
        write_noise();
        write_bass();
        return std::move(text_);
    }

  private:
    void title(const std::string& text) {
        if (!text_.empty()) text_ += "\n";
        text_ += title_line(text, bold_);
    }

    void write_names() {
        title(fmt::format("{} boards compared", report_.boards.size()));
        for (const ComparedBoard& board : report_.boards) {
            std::string line = fmt::format("  {}  {}", board.label, board.name);
            if (!board.revision.empty()) line += ", revision " + board.revision;
            if (!board.variant.empty()) line += ", variant " + board.variant;
            line += board.capsule.empty() ? ", ideal source" : ", capsule " + board.capsule;
            text_ += hanging(line, 5);
        }
        for (const ComparedBoard& board : report_.boards) write_near_gains(board);
    }

    void write_near_gains(const ComparedBoard& board) {
        for (std::size_t p = 0; p < board.positions.size(); ++p) {
            const ComparedPosition& position = board.positions[p];
            if (!position.reached || std::isnan(position.nearest_db)) continue;
            text_ += hanging(
                fmt::format("  {} has no gain of {}: compared at {} dB, the nearest", board.label,
                            report_.positions[p], fixed(position.nearest_db, 2)),
                4);
        }
    }

    void write_changes() {
        const ComparedBoard& first = report_.boards.front();
        for (const ComparedBoard& board : report_.boards) {
            if (&board == &first) continue;
            title(fmt::format("Changes in {} against {}", board.label, first.label));
            if (board.changes.empty()) text_ += "  none\n";
            for (std::size_t k = 0; k < std::min(board.changes.size(), most_changes_shown); ++k) {
                text_ += hanging("  " + change_text(board.changes[k]), 4);
            }
            if (board.changes.size() > most_changes_shown) {
                text_ += fmt::format("  {} more\n", board.changes.size() - most_changes_shown);
            }
        }
    }

    static const Figure* figure_of(const ComparedBoard& board, std::size_t position,
                                   std::size_t figure) {
        const auto& figures = board.positions[position].figures;
        return figure < figures.size() ? &figures[figure] : nullptr;
    }

    /// The figure's record, from any position that has it.
    const StandardFigure* standard(std::size_t figure) const {
        for (const ComparedBoard& board : report_.boards) {
            for (std::size_t k = 0; k < board.positions.size(); ++k) {
                if (const Figure* found = figure_of(board, k, figure)) return found->figure;
            }
        }
        return nullptr;
    }

    /// Whether the board's figure at a position is a best case.
    static bool best_case(const ComparedBoard& board, std::size_t position, const Figure* figure) {
        return figure != nullptr &&
               at_best(board.positions[position].assumes_ideal, {figure->figure->measure->name});
    }

    static std::string value_text(const Figure* figure, bool best) {
        if (!figure) return "-";
        const Unit unit = figure->figure->measure->unit;
        if (unit == Unit::polarity) return figure_text(figure->value, unit);
        if (by_difference(unit)) return marked(fixed(figure->value, 2), best);
        return marked(
            is_small(unit) ? print_quantity(figure->value, unit, 3) : compact(figure->value), best);
    }

    /// Whether the boards do not differ in this figure at any position.
    bool alike(std::size_t figure, std::size_t from, std::size_t to) const {
        for (std::size_t p = 0; p < report_.positions.size(); ++p) {
            const Figure* before = figure_of(report_.boards.front(), p, figure);
            for (std::size_t b = from; b < to; ++b) {
                const Figure* after = figure_of(report_.boards[b], p, figure);
                if ((before == nullptr) != (after == nullptr)) return false;
                if (best_case(report_.boards[b], p, after) !=
                    best_case(report_.boards.front(), p, before)) {
                    return false;
                }
                if (after == nullptr || difference(before, after).form == Difference::Form::none)
                    continue;
                if (!print_alike(*before, *after)) return false;
            }
        }
        return true;
    }

    void write_figures(std::size_t from, std::size_t to) {
        title("Figures side by side, with differences from " + report_.boards.front().label);
        Table table(1);
        std::vector<std::string> heading{"", report_.boards.front().label};
        for (std::size_t b = from; b < to; ++b) {
            heading.push_back(report_.boards[b].label);
            heading.emplace_back("");
        }
        table.heading(heading);
        std::vector<std::string> same;
        for (std::size_t figure = 0; standard(figure); ++figure) {
            const std::string name(standard(figure)->name);
            if (alike(figure, from, to))
                same.push_back(name);
            else
                add_figure(figure, from, to, table);
        }
        if (!table.empty()) text_ += table.text();
        if (!same.empty()) text_ += wrapped_list("no difference", same);
        if (from == 1) write_best_cases();
    }

    void write_best_cases() {
        for (const ComparedBoard& board : report_.boards) {
            std::vector<AssumedIdeal> all;
            for (const ComparedPosition& position : board.positions) {
                for (const AssumedIdeal& each : position.assumes_ideal) {
                    if (is_standard(each.measure)) all.push_back(each);
                }
            }
            const std::vector<ModelGap> gaps = gaps_of(all);
            if (gaps.empty()) continue;
            text_ += hanging(fmt::format("  {} best case in {}: {}", best_case_mark, board.label,
                                         lowhiss::text_of(gaps)),
                             4);
        }
    }

    void write_all_figures() {
        for (std::size_t k = 1; k < report_.boards.size(); k += others_in_a_row) {
            write_figures(k, std::min(report_.boards.size(), k + others_in_a_row));
        }
    }

    /// Crosses two lists of alterations: a table for each figure that values are chosen by, where
    /// the boards differ in it.
    void write_crosses() {
        constexpr std::array<std::string_view, 7> shown{
            "gain",         "low_corner", "high_corner", "ein",
            "noise_figure", "max_input",  "phase_margin"};
        std::vector<std::string> same;
        for (std::size_t figure = 0; const StandardFigure* record = standard(figure); ++figure) {
            if (std::ranges::find(shown, record->name) == shown.end()) continue;
            if (alike(figure, 1, report_.boards.size()))
                same.emplace_back(record->name);
            else
                write_cross(figure, *record);
        }
        if (!same.empty()) text_ += "\n" + wrapped_list("no difference", same);
        write_best_cases();
    }

    void write_cross(std::size_t figure, const StandardFigure& record) {
        const std::vector<std::string>& down = report_.varied.front();
        const std::vector<std::string>& across = report_.varied.back();
        const std::string_view symbol = info(record.measure->unit).symbol;
        title(fmt::format("{}{}{}", record.name, symbol.empty() ? "" : ", ", symbol));
        const std::size_t columns = across_in_a_table(across);
        for (std::size_t from = 0; from < across.size(); from += columns) {
            const std::size_t to = std::min(across.size(), from + columns);
            Table table(1);
            std::vector<std::string> heading{""};
            for (std::size_t k = from; k < to; ++k) heading.push_back(cut(across[k], 20));
            table.heading(heading);
            for (std::size_t p = 0; p < report_.positions.size(); ++p) {
                if (report_.positions.size() > 1) table.section("at " + report_.positions[p]);
                for (std::size_t row = 0; row < down.size(); ++row) {
                    std::vector<std::string> cells{cut(down[row], 20)};
                    for (std::size_t k = from; k < to; ++k) {
                        const ComparedBoard& board = report_.boards[row * across.size() + k];
                        const Figure* value = figure_of(board, p, figure);
                        cells.push_back(value_text(value, best_case(board, p, value)));
                    }
                    table.row(std::move(cells));
                }
            }
            text_ += table.text();
        }
    }

    /// As many columns as 80 characters hold beside the names of the rows.
    static std::size_t across_in_a_table(const std::vector<std::string>& names) {
        std::size_t widest = 8;
        for (const std::string& name : names) {
            widest = std::max(widest, std::min<std::size_t>(width_of(name), 20));
        }
        return std::max<std::size_t>(1, (78 - 20) / (widest + 2));
    }

    static bool is_standard(std::string_view measure) {
        const auto figures = standard_figures();
        return std::any_of(figures.begin(), figures.end(), [&](const StandardFigure& figure) {
            return figure.measure->name == measure;
        });
    }

    void add_figure(std::size_t figure, std::size_t from, std::size_t to, Table& table) const {
        const StandardFigure& record = *standard(figure);
        const std::string_view symbol = info(record.measure->unit).symbol;
        table.section(is_small(record.measure->unit) || symbol.empty()
                          ? std::string(record.name)
                          : fmt::format("{}, {}", record.name, symbol));
        for (std::size_t p = 0; p < report_.positions.size(); ++p) {
            const Figure* first = figure_of(report_.boards.front(), p, figure);
            const bool first_best = best_case(report_.boards.front(), p, first);
            std::vector<std::string> cells{"  " + report_.positions[p],
                                           value_text(first, first_best)};
            for (std::size_t b = from; b < to; ++b) {
                const Figure* after = figure_of(report_.boards[b], p, figure);
                const bool best = best_case(report_.boards[b], p, after);
                cells.push_back(value_text(after, best));
                // A best case says nothing about how far two boards are apart.
                cells.push_back(first_best || best ? printed_difference({})
                                                   : printed_difference(difference(first, after)));
            }
            table.row(std::move(cells));
        }
    }

    static double ein_dbu(const ComparedBoard& board, std::size_t position) {
        for (const Figure& figure : board.positions[position].figures) {
            if (figure.figure->name == "ein") return figure.value;
        }
        return unset;
    }

    /// An EIN that rests on a model without its noise ranks below every known one.
    static bool ein_is_best_case(const ComparedBoard& board, std::size_t position) {
        return at_best(board.positions[position].assumes_ideal, {"ein"});
    }

    /// Voltages at the input, because shares cannot be compared between boards.
    void write_noise() {
        title("Noise, quietest first: EIN in dBu, and the noisiest parts (V rms at the input)");
        for (std::size_t p = 0; p < report_.positions.size(); ++p) {
            std::vector<const ComparedBoard*> ranked;
            for (const ComparedBoard& board : report_.boards) ranked.push_back(&board);
            std::stable_sort(ranked.begin(), ranked.end(), [&](const auto* a, const auto* b) {
                const bool doubt = ein_is_best_case(*a, p);
                if (doubt != ein_is_best_case(*b, p)) return !doubt;
                const double left = std::round(100 * ein_dbu(*a, p));
                const double right = std::round(100 * ein_dbu(*b, p));
                return std::isnan(right) ? !std::isnan(left) : left < right;
            });
            text_ += "  at " + report_.positions[p] + "\n";
            for (const ComparedBoard* board : ranked) {
                text_ += noise_line(*board, p, *ranked.front());
            }
        }
    }

    static std::string noise_line(const ComparedBoard& board, std::size_t p,
                                  const ComparedBoard& quietest) {
        const ComparedPosition& position = board.positions[p];
        if (!position.reached) {
            return fmt::format("    {}  does not reach this gain; nearest {} dB\n", board.label,
                               fixed(position.nearest_db, 2));
        }
        const double ein = ein_dbu(board, p);
        if (std::isnan(ein)) return fmt::format("    {}  no gain\n", board.label);
        const bool best = ein_is_best_case(board, p);
        const double more = best ? unset : ein - ein_dbu(quietest, p);
        std::string line =
            fmt::format("    {} {:>8} {:>6}  ", board.label, marked(fixed(ein, 1), best),
                        more >= 0.05 ? "+" + fixed(more, 1) : "");
        const std::size_t indent = line.size();
        std::string parts;
        for (std::size_t k = 0; k < std::min(position.noise.size(), most_parts_named); ++k) {
            const InputNoise& part = position.noise[k];
            if (part.share < smallest_share_shown) break;
            parts += fmt::format("{}{} {}", k == 0 ? "" : ", ", part.part,
                                 print_quantity(part.input_v, Unit::volt, 3));
        }
        return hanging_after(line, parts.empty() ? "no noise" : parts, indent);
    }

    /// The loss by each board's parts at 20 Hz, largest first.
    void write_bass() {
        title("Bass: loss by part at 20 Hz, in dB");
        for (std::size_t p = 0; p < report_.positions.size(); ++p) {
            text_ += "  at " + report_.positions[p] + "\n";
            for (const ComparedBoard& board : report_.boards) {
                if (board.positions[p].reached) text_ += bass_line(board, p);
            }
        }
    }

    static std::string bass_line(const ComparedBoard& board, std::size_t p) {
        std::vector<PartRolloff> losses;
        for (const PartRolloff& part : board.positions[p].rolloff) {
            if (part.rolloff.in_the_way && part.rolloff.loss_db >= smallest_loss_shown_db) {
                losses.push_back(part);
            }
        }
        std::stable_sort(losses.begin(), losses.end(),
                         [](const PartRolloff& a, const PartRolloff& b) {
                             return a.rolloff.loss_db > b.rolloff.loss_db;
                         });
        std::string parts;
        for (const PartRolloff& part : losses) {
            parts += fmt::format("{}{} {}", parts.empty() ? "" : ", ", part.part,
                                 fixed(part.rolloff.loss_db, 2));
        }
        const std::string head = fmt::format("    {}  ", board.label);
        return hanging_after(head, parts.empty() ? "under 0.005" : parts, head.size());
    }

    /// A head, whose blanks are kept, and words wrapped beside it.
    static std::string hanging_after(const std::string& head, const std::string& words,
                                     std::size_t indent) {
        std::string text = hanging(std::string(indent, ' ') + words, indent);
        return text.replace(0, head.size(), head);
    }

    const ComparisonReport& report_;
    bool bold_;
    std::string text_;
};

}  // namespace

std::string compare_table(const ComparisonReport& report, bool bold) {
    return CompareWriter(report, bold).text();
}

}  // namespace lowhiss::cli
