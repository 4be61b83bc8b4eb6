#pragma once

#include <string>

#include "draw/chart.hpp"

namespace lowhiss::cli {

/// Refuses the name of a picture before any work is done; "" is none. Throws UsageError.
void check_plot_name(const std::string& path);

/// Writes the charts of a sheet, one under the other, as .svg, .png or .pdf by gnuplot; "-" is SVG
/// on standard output. Whole or not at all. Throws UsageError, naming the package where there is no
/// gnuplot.
void write_plot(const std::string& path, const ChartSheet& sheet);

/// The same as SVG text, for a page.
std::string plot_svg(const ChartSheet& sheet);

/// The default grid of pictures.
std::vector<double> plot_grid_hz();

}  // namespace lowhiss::cli
