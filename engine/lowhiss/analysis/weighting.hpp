#pragma once

namespace lowhiss {

// Weighting curves: magnitudes relative to 1 kHz, by which a noise density is multiplied before it
// is integrated.
//
// Accepts   any double; even in frequency, NaN for NaN.
// Accuracy  4e-15 relative, against the definition.

/// The A-weighting of sound level meters: with poles p1 to p4, all real and in Hz,
///
///   A(f) = p4^2 f^4 / ((f^2 + p1^2) sqrt(f^2 + p2^2) sqrt(f^2 + p3^2) (f^2 + p4^2)) / A(1 kHz)
///
/// Source: IEC 61672-1:2013, Annex E, with the poles of its exact derivation, not the rounded ones.
/// Range: 0 Hz, where it is 0, to infinity.
double a_weighting(double frequency_hz);

/// The weighting of audio-frequency noise: the voltage transfer of the passive network
///
///   source 600 ohm --+-- 12.88 mH --+-- 33.06 nF --+-- 26.49 mH --+---------+
///                    |              |              |              |         |
///                 13.85 nF       26.82 nF       9.21 nF        31.47 nF  600 ohm (output)
///                    |              |              |              |         |
///                   gnd            gnd            gnd            gnd       gnd
///
/// Source: Recommendation ITU-R BS.468-4 (1986), figure 1a. IEC 60268-1:1985 misprints 31.47 nF as
/// 41.47 nF. The quasi-peak meter of the Recommendation is not part of it.
/// Range: 0 Hz, where it is 0, to 1e40 Hz.
double itu_r_468_weighting(double frequency_hz);

}  // namespace lowhiss
