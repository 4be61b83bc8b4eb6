#pragma once

#include <memory>
#include <vector>

#include "lowhiss/board/limit.hpp"

namespace lowhiss {

/// Reads a CSV of frequency_hz, min, max in the measure's SI unit (dB for a gain). An empty cell is
/// no bound; a header line, blank lines and lines that begin with # are skipped.
std::vector<MaskPoint> read_mask_file(const std::shared_ptr<const Source>& file, Diagnostics& out);

}  // namespace lowhiss
