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

/// Reads a measured impedance; the name's ending (in any case) says how it is written:
///
///   .csv   frequency_hz, impedance_ohm, phase_deg; a header line, `#` comment lines and quotes
///          are allowed. A header that names another unit is an error.
///   .s1p   Touchstone one-port, version 1 or 2: S, Y or Z as MA, DB or RI.
///
/// Returns at least two points with ascending, positive frequencies and R >= 0 (an R that rounding
/// left below zero by less than 1e-9 |Z| is 0). Whatever keeps the file from that is added to `out`
/// with its line and column, ten faults at most, and nothing is returned. Any bytes are safe to
/// read; time and memory are linear in their number.
std::vector<ImpedancePoint> read_impedance_file(const std::shared_ptr<const Source>& file,
                                                Diagnostics& out);

}  // namespace lowhiss
