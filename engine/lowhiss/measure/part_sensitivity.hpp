#pragma once

#include <memory>
#include <vector>

#include "lowhiss/analysis/sensitivity.hpp"
#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/registry.hpp"

namespace lowhiss {

/// What 1 % more of a part's value does to figures at one setting, by the adjoint: no other circuit
/// is solved. To first order; what a part does at the ends of a wide tolerance may differ.
class PartSensitivity {
  public:
    /// `parts` are places in the board's list. `assembled` and `capsule` must outlive this.
    PartSensitivity(const Board& assembled, const Capsule* capsule, double rotation,
                    const Plans& plans, std::vector<std::size_t> parts);

    /// Of each part, in the order given: decibels per percent of gains, noise and their ratios,
    /// degrees per percent of phase, seconds per percent of delays, percent per percent of
    /// frequencies and impedances, and the part of the whole per percent of shares. Of a figure
    /// over a band it is that at the frequency where it was found. Unset of `bass_loss`, of
    /// measures over the knob, and of a part whose value decides about the structure of the
    /// circuit. Throws as Network::respond.
    std::vector<double> per_percent(const MeasureRecord& measure,
                                    const MeasureArguments& arguments);

    /// The gain itself, in dB.
    double gain_db(double frequency_hz) const;

  private:
    /// A network with the derivatives of its circuit.
    struct Side {
        Network network;
        std::vector<ValueSlope> slopes;
    };
    enum class Weighting { none, a, bs468 };
    using Slopes = std::vector<double>;
    using Curve = double (*)(Setting&, double);
    using AtFrequency = Slopes (PartSensitivity::*)(double);

    Side make_side(bool ideal) const;
    Side& ideal();
    Slopes gain(double frequency_hz);
    Slopes gain_from_terminals(double frequency_hz);
    Slopes capsule_effect(double frequency_hz);
    Slopes phase(double frequency_hz);
    Slopes group_delay(double frequency_hz);
    Slopes input_impedance(double frequency_hz);
    Slopes output_impedance(double frequency_hz);
    Slopes spread(Curve curve, const Band& band, AtFrequency slopes);
    Slopes corner(Corner which);
    static Slopes noise(Side& side, const Band& band, Weighting weighting,
                        const std::vector<bool>& counts, double* power_v2 = nullptr);
    static Slopes all_noise(Side& side, const Band& band, Weighting weighting);
    Slopes referred(const Band& band, Weighting weighting);
    Slopes noise_figure(const Band& band);
    Slopes noise_share(const Band& band, const std::string& part);
    Slopes none() const;

    const Board& board_;
    const Capsule* capsule_;
    double rotation_;
    Plans plans_;
    std::vector<std::size_t> parts_;
    std::unique_ptr<Setting> setting_;  ///< for where curves over a band have their extremes
    std::unique_ptr<Side> real_;
    std::unique_ptr<Side> ideal_;
};

}  // namespace lowhiss
