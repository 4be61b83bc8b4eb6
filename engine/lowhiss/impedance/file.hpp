#pragma once

#include <memory>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// A measured impedance Z = R + jX at one frequency.
struct ImpedancePoint {
    double frequency_hz;
    double resistance_ohm;
    double reactance_ohm;
};

/// Reads a measured impedance in the format that the file name's ending (in any case) stands for:
///
///   .csv   frequency_hz, impedance_ohm, phase_deg; a header line, `#` comment lines and quotes
///          are allowed. A header that names another unit is an error.
///   .s1p   one-port S-parameter file, version 1 or 2: S, Y or Z as MA, DB or RI.
///
/// Returns at least two points with ascending, positive frequencies and R >= 0 (an R that rounding
/// left below zero by less than 1e-9 |Z| is 0). Otherwise it returns nothing and adds what is wrong
/// to `out`, with line and column, ten faults at most. Any bytes are safe to read; time and memory
/// are linear in their number.
std::vector<ImpedancePoint> read_impedance_file(const std::shared_ptr<const Source>& file,
                                                Diagnostics& out);

}  // namespace lowhiss
