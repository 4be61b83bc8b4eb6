#pragma once

namespace lowhiss {

// Exact by the definition of the SI units of 2019 (SI Brochure, 9th edition, table 1).
inline constexpr double boltzmann_j_k = 1.380649e-23;
inline constexpr double elementary_charge_c = 1.602176634e-19;

/// 0 dB SPL in air (ISO 1683).
inline constexpr double zero_spl_pa = 20e-6;

/// Reference frequency of corners and of equivalent input noise.
inline constexpr double reference_hz = 1000;

}  // namespace lowhiss
