#pragma once

#include <string>

#include "draw/chart.hpp"

namespace lowhiss::cli {

/// A chart in block characters, 80 columns wide, with a resolution of an eighth of a row. Each
/// curve's name is at its right end; if two share a cell, the later one is seen. Bands, areas and
/// bounds are left out.
std::string block_chart(const Chart& chart, bool color);

/// The response and noise charts of a sheet, drawn so.
std::string block_sheet(const ChartSheet& sheet, bool color);

}  // namespace lowhiss::cli
