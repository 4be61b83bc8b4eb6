#pragma once

#include <complex>
#include <numbers>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

class Setting;

/// Admittance of the board's load and cable.
inline std::complex<double> load_siemens(const Output& output, double frequency_hz) {
    return {1 / output.load_ohm, 2 * std::numbers::pi * frequency_hz * output.cable_f};
}

/// Output impedance with the load taken off, from that with the load in parallel.
inline std::complex<double> unloaded_ohm(std::complex<double> loaded_ohm,
                                         std::complex<double> load_siemens) {
    return loaded_ohm / (1.0 - loaded_ohm * load_siemens);
}

/// Loss into the board's own load and cable, in dB: output open over output loaded. Throws as
/// Network::respond.
double output_loss_db(Setting& setting, double frequency_hz);

/// The same for another load, with a cable of capacitance `cable_f` beside it.
double loss_into_db(Setting& setting, double frequency_hz, double load_ohm, double cable_f);

}  // namespace lowhiss
