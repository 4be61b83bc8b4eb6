#include "draw/block_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr int canvas_columns = 58;
constexpr int canvas_rows = 12;
constexpr int axis_width = 8;
constexpr std::array eighths{"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
constexpr std::array colors{36, 32, 33, 35, 34, 31};

struct Range {
    double low = unset;
    double high = unset;
};

/// Widened to whole steps of 1, 2 or 5, or to decades.
Range range_of(const Chart& chart) {
    Range range;
    for (const Curve& curve : chart.curves) {
        if (curve.kind != Curve::Kind::line && curve.kind != Curve::Kind::dashed) continue;
        for (const double y : curve.y) {
            if (!std::isfinite(y) || (chart.log_y && y <= 0)) continue;
            const double at = chart.log_y ? std::log10(y) : y;
            range = {std::fmin(range.low, at), std::fmax(range.high, at)};
        }
    }
    if (std::isnan(range.low)) return range;
    const double span = std::max(range.high - range.low, 1e-9);
    const double decade = std::pow(10, std::floor(std::log10(span / 4)));
    double step = decade;
    for (const double nice : {2.0, 5.0, 10.0}) {
        if (span / step > 4) step = nice * decade;
    }
    range.low = std::floor(range.low / step) * step;
    range.high = std::ceil(range.high / step) * step;
    if (range.high == range.low) range.high += step;
    return range;
}

class Canvas {
  public:
    Canvas(const Chart& chart, bool color) : chart_(chart), color_(color), range_(range_of(chart)) {
        cells_.assign(canvas_rows, std::vector<std::string>(canvas_columns, " "));
        ends_.resize(canvas_rows);
    }

    std::string text() {
        std::string text = "\n" + chart_.title + ": " + chart_.y_label + "\n";
        if (std::isnan(range_.low)) return text + "  no values\n";
        std::size_t k = 0;
        for (const Curve& curve : chart_.curves) {
            if (curve.kind == Curve::Kind::line || curve.kind == Curve::Kind::dashed) {
                draw(curve, colors.at(k++ % colors.size()));
            }
        }
        for (int row = 0; row < canvas_rows; ++row) text += line(row);
        return text + axis();
    }

  private:
    /// The index of the frequency nearest to a column.
    std::size_t point_at(int column) const {
        const auto& f = chart_.frequency_hz;
        const double along = static_cast<double>(column) / (canvas_columns - 1);
        const double f_hz = f.front() * std::pow(f.back() / f.front(), along);
        const auto above = std::lower_bound(f.begin(), f.end(), f_hz * 0.999999);
        const auto k = static_cast<std::size_t>(above - f.begin());
        return std::min(k, f.size() - 1);
    }

    void draw(const Curve& curve, int color) {
        int last_row = -1;
        for (int column = 0; column < canvas_columns; ++column) {
            const double y = curve.y[point_at(column)];
            const double at = chart_.log_y ? std::log10(y) : y;
            if (!std::isfinite(at)) continue;
            const double height = (at - range_.low) / (range_.high - range_.low) * canvas_rows;
            const double held = std::clamp(height, 0.0, canvas_rows - 1e-6);
            const int from_below = static_cast<int>(held);
            const auto eighth = static_cast<std::size_t>((held - from_below) * 8);
            last_row = canvas_rows - 1 - from_below;
            cell(last_row, column) = painted(eighths.at(eighth), color);
        }
        if (last_row < 0) return;
        std::string& end = ends_[static_cast<std::size_t>(last_row)];
        const std::string& name = curve.short_name.empty() ? curve.name : curve.short_name;
        end += (end.empty() ? " " : ", ") + name;
    }

    std::string& cell(int row, int column) {
        return cells_[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
    }

    std::string painted(const std::string& block, int color) const {
        return color_ ? fmt::format("\x1b[{}m{}\x1b[0m", color, block) : block;
    }

    std::string line(int row) const {
        std::string label;
        if (row == 0 || row == canvas_rows - 1 || row == canvas_rows / 2) {
            const double along =
                row == canvas_rows - 1 ? 0 : 1 - static_cast<double>(row) / canvas_rows;
            const double at = range_.low + along * (range_.high - range_.low);
            label = print_quantity(chart_.log_y ? std::pow(10, at) : at, Unit::number, 3);
        }
        std::string text(static_cast<std::size_t>(axis_width) -
                             std::min<std::size_t>(width_of(label), axis_width),
                         ' ');
        text += label + " │";
        for (const std::string& cell : cells_[static_cast<std::size_t>(row)]) text += cell;
        text += cut(ends_[static_cast<std::size_t>(row)], 12);
        while (text.ends_with(' ')) text.pop_back();
        return text + "\n";
    }

    /// Frequencies under the first column of each decade.
    std::string axis() const {
        std::string rule = std::string(axis_width + 1, ' ') + "└";
        std::string labels(axis_width + 2, ' ');
        const double low = chart_.frequency_hz.front();
        const double high = chart_.frequency_hz.back();
        double next = std::pow(10, std::ceil(std::log10(low) - 1e-9));
        for (int column = 0; column < canvas_columns; ++column) {
            const double f_hz =
                low * std::pow(high / low, static_cast<double>(column) / (canvas_columns - 1));
            const bool mark = f_hz >= next * 0.999;
            rule += mark ? "┴" : "─";
            if (!mark) continue;
            const std::size_t at = axis_width + 2 + static_cast<std::size_t>(column);
            if (labels.size() <= at) {
                labels.resize(at, ' ');
                labels += print_quantity(next, Unit::hertz, 3);
            }
            next *= 10;
        }
        return rule + "\n" + labels + "\n";
    }

    const Chart& chart_;
    bool color_;
    Range range_;
    std::vector<std::vector<std::string>> cells_;
    std::vector<std::string> ends_;
};

}  // namespace

std::string block_chart(const Chart& chart, bool color) {
    return Canvas(chart, color).text();
}

std::string block_sheet(const ChartSheet& sheet, bool color) {
    std::string text = sheet.title + "\n";
    for (const Chart& chart : sheet.charts) {
        if (chart.in_text) text += block_chart(chart, color);
    }
    return text;
}

}  // namespace lowhiss::cli
