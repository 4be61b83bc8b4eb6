#pragma once

#include <array>
#include <span>
#include <vector>

#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/measure/output_balance.hpp"
#include "lowhiss/measure/rejection.hpp"
#include "lowhiss/measure/stability.hpp"
#include "lowhiss/measure/supply_faults.hpp"
#include "lowhiss/measure/switch_on.hpp"

namespace lowhiss {

class Setting;

// The frequencies and loads at which a sweep computes its figures other than response and noise.
inline constexpr std::array headroom_hz{20.0, 1000.0, 20000.0};
inline constexpr std::array common_mode_hz{50.0, 1000.0, 20000.0};
inline constexpr std::array supply_hz{100.0, 1000.0, 20000.0};
inline constexpr std::array radio_hz{1e6, 1e7, 1e8, 1e9};
inline constexpr std::array output_hz{20.0, 1000.0, 20000.0};
inline constexpr std::array balance_hz{50.0, 1000.0, 20000.0};
inline constexpr std::array output_loads_ohm{600.0, 2000.0, 10000.0};
/// A hundred metres of cable of 100 pF a metre, and the end of the audio band, where its loss is
/// largest.
inline constexpr double long_cable_f = 10e-9;
inline constexpr double long_cable_hz = 20000;

struct SupplyRejection {
    std::string source;
    std::array<double, supply_hz.size()> rejection_db{};
    double quiet_v = unset;  ///< rms over the band, ten decibels below the board's own noise
};

struct CableStability {
    double cable_f;
    Stability stability;
    std::vector<AssumedIdeal> assumes_ideal{};  ///< margins that are best cases
};

/// The figures of one knob position other than response and noise.
struct Behaviour {
    std::array<Headroom, headroom_hz.size()> headroom{};
    std::vector<PlacedFault> supply_faults;
    double max_spl_db = unset;
    double self_noise_db_spl = unset;
    double dynamic_range_db = unset;
    Stability stability;
    std::vector<CableStability> cables;
    std::array<double, common_mode_hz.size()> common_mode_db{};
    std::vector<SupplyRejection> supplies;
    double feed_rejection_db = unset;  ///< at 1 kHz
    std::vector<RippleArrival> ripples;
    std::array<double, radio_hz.size()> radio_db{};
    std::array<double, radio_hz.size()> radio_common_db{};
    std::array<double, output_hz.size()> output_ohm{};
    std::array<double, output_loads_ohm.size()> loss_db{};  ///< at 1 kHz
    double cable_loss_db = unset;
    double output_level_dbu = unset;  ///< at 1 kHz and 1 Pa
    PinImpedances pins;               ///< at 1 kHz
    std::array<double, balance_hz.size()> balance_db{};
    SwitchOn switch_on;
};

/// `cables_f`: capacitances to try on the output, beside the board's own, for stability. Figures
/// at frequencies where the circuit cannot be solved are unset; other errors as of Setting.
Behaviour behaviour_of(Setting& setting, const Band& band, std::span<const double> cables_f);

}  // namespace lowhiss
