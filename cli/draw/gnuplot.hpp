#pragma once

#include <string>

#include "draw/chart.hpp"

namespace lowhiss::cli {

/// Throws UsageError if a picture cannot be written by this name; "" is no picture.
void check_plot_name(const std::string& path);

/// Writes the charts of a sheet, one below the other, as .svg, .png or .pdf by gnuplot; "-" is SVG
/// on standard output. Whole or not at all. Throws UsageError, which names the package if gnuplot
/// is missing.
void write_plot(const std::string& path, const ChartSheet& sheet);

/// The same as SVG text.
std::string plot_svg(const ChartSheet& sheet);

/// The default frequencies of pictures.
std::vector<double> plot_grid_hz();

}  // namespace lowhiss::cli
