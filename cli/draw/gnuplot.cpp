#include "draw/gnuplot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "draw/pdf.hpp"
#include "shell/child.hpp"
#include "shell/exit_status.hpp"
#include "shell/names.hpp"
#include "write/output.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr int picture_width = 880;
constexpr int chart_height = 330;
constexpr int title_height = 40;

// Distinct to readers with colour vision deficiency, and in print by lightness. Steps of a knob:
// from "cividis" (Nunez, Anderton, Renslow, "Optimizing colormaps with consideration for color
// vision deficiency", PLOS ONE 13, 2018). Parts: Okabe and Ito, "Color universal design", 2008.
constexpr std::array steps{"#00336f", "#39486b", "#6c6d72", "#948e77", "#b9a84f"};
constexpr std::array kinds{"#0072b2", "#e69f00", "#009e73", "#cc79a7",
                           "#56b4e9", "#d55e00", "#b0a000", "#999999"};

constexpr int patterns = 5;               ///< of dashes, which gnuplot numbers from 1
constexpr std::size_t longest_name = 36;  ///< of a curve, in columns

std::string gnuplot_number(double value) {
    return std::isfinite(value) ? fmt::format("{:.9g}", value) : "NaN";
}

class Script {
  public:
    explicit Script(const ChartSheet& sheet) : sheet_(sheet) {}

    std::string text(const std::string& ending) {
        const int height = title_height + chart_height * static_cast<int>(std::max<std::size_t>(
                                                             sheet_.charts.size(), 1));
        line("set encoding utf8");
        if (ending == ".png") {
            line("set terminal pngcairo noenhanced size {},{} font 'sans,10' background '#ffffff'",
                 picture_width, height);
        } else if (ending == ".pdf") {
            line(
                "set terminal pdfcairo noenhanced size {}in,{}in font 'sans,9' background "
                "'#ffffff'",
                picture_width / 100.0, height / 100.0);
        } else {
            line(
                "set terminal svg noenhanced size {},{} dynamic font 'sans,12' background "
                "'#ffffff'",
                picture_width, height);
        }
        for (std::size_t k = 0; k < sheet_.charts.size(); ++k) data(k);
        line("set multiplot layout {},1 title {} font ',14' noenhanced", sheet_.charts.size(),
             for_gnuplot(sheet_.title));
        axes();
        for (std::size_t k = 0; k < sheet_.charts.size(); ++k) chart(k);
        line("unset multiplot");
        return std::move(text_);
    }

  private:
    template <class... Items>
    void line(fmt::format_string<Items...> format, Items&&... items) {
        text_ += fmt::format(format, std::forward<Items>(items)...) + "\n";
    }

    void data(std::size_t index) {
        const Chart& chart = sheet_.charts[index];
        line("$chart{} << END", index);
        for (std::size_t k = 0; k < chart.frequency_hz.size(); ++k) {
            std::string row = gnuplot_number(chart.frequency_hz[k]);
            for (const Curve& curve : chart.curves) {
                row += " " + gnuplot_number(curve.y[k]);
                row += " " + (curve.low.empty() ? "NaN" : gnuplot_number(curve.low[k]));
            }
            text_ += row + "\n";
        }
        line("END");
    }

    void axes() {
        line("set logscale x");
        line(
            "set xtics ('1 Hz' 1, '2' 2 1, '5' 5 1, '10 Hz' 10, '20' 20, '50' 50, '100' 100, '200' "
            "200, "
            "'500' 500, '1 kHz' 1000, '2k' 2000, '5k' 5000, '10 kHz' 10000, '20k' 20000, "
            "'50k' 50000, '100k' 100000, '200k' 200000, '500k' 500000, '1 MHz' 1000000, "
            "'10 MHz' 1e7) nomirror");
        line("set border 3 lc rgb '#404040'");
        line("set grid xtics ytics lt 1 lw 0.5 lc rgb '#d8d8d8'");
        line("set ytics nomirror");
        line("set key outside right top reverse Left samplen 2");
        line("set lmargin 10");
        line("set style fill solid 0.75 noborder");
    }

    void chart(std::size_t index) {
        const Chart& chart = sheet_.charts[index];
        line("set title {} noenhanced", for_gnuplot(chart.title));
        line("set ylabel {} noenhanced", for_gnuplot(chart.y_label));
        const bool dashes = std::any_of(chart.curves.begin(), chart.curves.end(),
                                        [](const Curve& c) { return c.pattern > 0; });
        line("set key samplen {}", dashes ? 5 : 2);  // long enough to tell the dashes
        line("set rmargin {}", legend_columns(chart) + (dashes ? 3 : 0));
        line("{}", chart.log_y ? "set logscale y" : "unset logscale y");
        // Slightly wider, or rounding removes the tick at the end.
        line("set xrange [{}:{}]", gnuplot_number(chart.frequency_hz.front() * (1 - 1e-6)),
             gnuplot_number(chart.frequency_hz.back() * (1 + 1e-6)));
        const bool areas = std::any_of(chart.curves.begin(), chart.curves.end(),
                                       [](const Curve& c) { return c.kind == Curve::Kind::area; });
        line("{}", areas ? "set yrange [0:100]" : "set autoscale y");
        std::string plots;
        std::size_t shade = 0;
        for (std::size_t k = 0; k < chart.curves.size(); ++k) {
            plots += plots.empty() ? "plot " : ", \\\n     ";
            plots += curve(chart, index, k, shade);
        }
        text_ += plots + "\n";
    }

    /// Room for the longest name, so that no name lies over the curves.
    static std::size_t legend_columns(const Chart& chart) {
        std::size_t longest = 15;
        for (const Curve& curve : chart.curves) {
            longest = std::max(longest, std::min(width_of(curve.name), longest_name));
        }
        return longest + 7;
    }

    static std::string curve(const Chart& chart, std::size_t index, std::size_t k,
                             std::size_t& shade) {
        const Curve& curve = chart.curves[k];
        const std::string from = fmt::format("$chart{} using 1:{}", index, 2 + 2 * k);
        const std::string title =
            curve.name.empty()
                ? "notitle"
                : "title " + for_gnuplot(cut(curve.name, longest_name)) + " noenhanced";
        switch (curve.kind) {
            case Curve::Kind::area:
                return fmt::format("{}:{} with filledcurves lc rgb '{}' {}", from, 3 + 2 * k,
                                   kinds.at(shade++ % kinds.size()), title);
            case Curve::Kind::band:
                return fmt::format(
                    "{}:{} with filledcurves fs transparent solid 0.3 lc rgb '{}' {}", from,
                    3 + 2 * k, colour(chart, shade), title);
            case Curve::Kind::bound:
                return fmt::format("{} with lines lw 2 dt 2 lc rgb '#c00000' {}", from, title);
            case Curve::Kind::dashed:
                return fmt::format("{} with lines lw 2 dt 3 lc rgb '{}' {}", from,
                                   colour(chart, shade++), title);
            case Curve::Kind::line:
                break;
        }
        if (curve.colour >= 0) {
            return fmt::format(
                "{} with lines lw 2 dt {} lc rgb '{}' {}", from, 1 + curve.pattern % patterns,
                kinds.at(static_cast<std::size_t>(curve.colour) % kinds.size()), title);
        }
        return fmt::format("{} with lines lw 2 lc rgb '{}' {}", from, colour(chart, shade++),
                           title);
    }

    /// Knob positions take steps of one scale, other curves a colour each.
    static std::string_view colour(const Chart& chart, std::size_t shade) {
        const auto lines = static_cast<std::size_t>(
            std::count_if(chart.curves.begin(), chart.curves.end(),
                          [](const Curve& c) { return c.kind == Curve::Kind::line; }));
        if (!chart.by_knob) return kinds.at(shade % kinds.size());
        const std::size_t step = lines < 2 ? 0 : shade * (steps.size() - 1) / (lines - 1);
        return steps.at(std::min(step, steps.size() - 1));
    }

    const ChartSheet& sheet_;
    std::string text_;
};

const Program& gnuplot() {
    static const Program program{"gnuplot", "gnuplot-nox", ""};
    return program;
}

/// gnuplot does not escape the > of a title, and XML does not allow ]]> in text.
std::string well_formed(std::string svg) {
    constexpr std::string_view brackets = "]]>";
    for (auto at = svg.find(brackets); at != std::string::npos; at = svg.find(brackets, at)) {
        svg.replace(at, brackets.size(), "]]&gt;");
    }
    return svg;
}

/// gnuplot runs without the user's own settings.
std::string drawn(const ChartSheet& sheet, const std::string& ending) {
    std::string picture = output_of(gnuplot(), {"-d", "-"}, Script(sheet).text(ending));
    if (ending == ".svg") return well_formed(std::move(picture));
    return ending == ".pdf" ? without_date(std::move(picture)) : picture;
}

}  // namespace

void check_plot_name(const std::string& path) {
    constexpr std::array known{".svg", ".png", ".pdf"};
    if (path.empty() || path == "-") return;
    if (std::find(known.begin(), known.end(), ending_of(path)) != known.end()) return;
    throw UsageError(fmt::format(
        "--plot: '{}' is not a picture; accepted: a name that ends in .svg, .png or .pdf", path));
}

std::string plot_svg(const ChartSheet& sheet) {
    return drawn(sheet, ".svg");
}

void write_plot(const std::string& path, const ChartSheet& sheet) {
    check_plot_name(path);
    const std::string ending = path == "-" ? ".svg" : ending_of(path);
    write_output(path, drawn(sheet, ending));
}

std::vector<double> plot_grid_hz() {
    std::vector<double> grid;
    for (int k = 0; k <= 130; ++k) grid.push_back(10 * std::pow(10.0, k / 30.0));
    return grid;
}

}  // namespace lowhiss::cli
