#pragma once

#include "lowhiss/board/part.hpp"

namespace lowhiss {

class Setting;

// The balance of the output, without load and cable: what a receiver makes of a voltage between its
// ground and the board's. With v = 1 V of it in both pins behind the impedances Z of the pins to
// ground, and a receiver of R+ and R- from its inputs to its ground, Y = diag(1/R+, 1/R-),
//   u = (1 + Z Y)^-1 (1, 1)^T,   balance = -20 lg |u+ - u-|.
// Z is a matrix of two rows: the outputs of one stage share an impedance. For separate pins this is
// the bridge of Z+ with R+ and Z- with R-: u+ - u- = R+/(R+ + Z+) - R-/(R- + Z-). What counts is
// that the pins have the same impedance, not that both carry a signal (the reasoning of IEC
// 60268-3, from memory).

/// The receiver's inputs to its ground: 10 kohm, a usual line input (common practice, no source),
/// and one of them 1 kohm more, whichever is worse.
inline constexpr double receiver_ohm = 10e3;
inline constexpr double receiver_imbalance_ohm = 1e3;

/// Magnitude of the impedance of each output pin to ground, the other pin open; 0 for a pin that is
/// ground. Unset where nothing ties the output to ground.
struct PinImpedances {
    double plus_ohm = unset;
    double minus_ohm = unset;
};
PinImpedances pin_impedances(Setting& setting, double frequency_hz);

double plus_pin_impedance_ohm(Setting& setting, double frequency_hz);
double minus_pin_impedance_ohm(Setting& setting, double frequency_hz);

/// In dB; unset from 240 dB on, where only rounding is left.
double output_balance_db(Setting& setting, double frequency_hz);

}  // namespace lowhiss
