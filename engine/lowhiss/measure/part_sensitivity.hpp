#pragma once

#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "lowhiss/analysis/sensitivity.hpp"
#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/setting.hpp"

namespace lowhiss {

/// The change of figures at one setting when the value of a part rises by 1 %, by the adjoint: no
/// other circuit is solved. The change is of first order; that at the ends of a wide tolerance may
/// differ.
///
/// Each function returns one slope for each part, in the order given: decibels per percent of
/// gains, noise and their ratios, degrees per percent of phase, seconds per percent of delays,
/// percent per percent of frequencies and impedances, and the part of the whole per percent of
/// shares. Unset if the figure does not exist, and for a part whose value decides about the
/// structure of the circuit. Throw as Network::respond.
class PartSensitivity {
  public:
    using Slopes = std::vector<double>;

    /// `parts` are places in the board's list. The setting must outlive this. Throws as
    /// operating_point does.
    PartSensitivity(Setting& setting, std::vector<std::size_t> parts);

    Setting& setting() { return setting_; }

    Slopes gain(double frequency_hz);
    Slopes gain_from_terminals(double frequency_hz);
    Slopes capsule_effect(double frequency_hz);
    Slopes phase(double frequency_hz);
    Slopes group_delay(double frequency_hz);
    Slopes input_impedance(double frequency_hz);
    Slopes output_impedance(double frequency_hz);
    Slopes low_corner() { return corner(setting_.low_corner_hz()); }
    Slopes high_corner() { return corner(setting_.high_corner_hz()); }
    Slopes output_noise(const Band& band);
    Slopes ein(const Band& band) { return referred(band, Weighting::none); }
    Slopes ein_a(const Band& band) { return referred(band, Weighting::a); }
    Slopes ein_468(const Band& band) { return referred(band, Weighting::bs468); }
    Slopes noise_figure(const Band& band);
    Slopes noise_share(const Band& band, const std::string& part);
    Slopes capsule_noise_rise(const Band& band);
    Slopes common_mode_rejection(double frequency_hz);

    /// All unset.
    Slopes none() const;

  private:
    enum class Weighting { none, a, bs468 };

    std::vector<ValueSlope> value_slopes(CircuitKind kind);
    const std::vector<ValueSlope>& values(CircuitKind kind);
    ResponseSlopes response(CircuitKind kind, double frequency_hz);
    Slopes corner(double frequency_hz);
    Slopes noise(CircuitKind kind, const Band& band, Weighting weighting,
                 const std::vector<bool>& counts, double* power_v2 = nullptr);
    Slopes all_noise(CircuitKind kind, const Band& band, Weighting weighting);
    Slopes referred(const Band& band, Weighting weighting);

    Setting& setting_;
    std::vector<std::size_t> parts_;
    std::map<CircuitKind, std::vector<ValueSlope>> values_;  ///< of those kinds that were asked for
};

/// a - b, one by one.
std::vector<double> difference(std::vector<double> a, const std::vector<double>& b);

}  // namespace lowhiss
