#pragma once

#include <memory>
#include <vector>

#include "lowhiss/board/limit.hpp"

namespace lowhiss {

/// A CSV of frequency_hz, min, max in the measure's SI unit (dB for a gain). An empty field is no
/// bound; a first line of names, blank lines and lines that begin with # are passed over.
std::vector<MaskPoint> read_mask_file(const std::shared_ptr<const Source>& file, Diagnostics& out);

}  // namespace lowhiss
