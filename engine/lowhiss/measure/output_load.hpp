#pragma once

#include <complex>
#include <numbers>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// Admittance of the board's load and cable.
inline std::complex<double> load_siemens(const Output& output, double frequency_hz) {
    return {1 / output.load_ohm, 2 * std::numbers::pi * frequency_hz * output.cable_f};
}

/// Output impedance with the load taken off, from that with the load in parallel.
inline std::complex<double> unloaded_ohm(std::complex<double> loaded_ohm,
                                         std::complex<double> load_siemens) {
    return loaded_ohm / (1.0 - loaded_ohm * load_siemens);
}

}  // namespace lowhiss
