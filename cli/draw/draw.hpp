#pragma once

#include <string>

#include "draw/chart.hpp"

namespace lowhiss::cli {

/// A chart in block characters, 80 columns wide: an eighth of a row fine. Each curve's name stands
/// at its right end; where two share a cell the later one is seen. Bands, areas and bounds are left
/// out.
std::string block_chart(const Chart& chart, bool color);

/// The response and the hiss of a sheet so drawn.
std::string drawn_sheet(const ChartSheet& sheet, bool color);

}  // namespace lowhiss::cli
