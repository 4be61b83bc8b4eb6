#pragma once

#include <memory>
#include <vector>

#include "lowhiss/analysis/sensitivity.hpp"
#include "lowhiss/measure/registry.hpp"

namespace lowhiss {

/// What 1 % more of a part's value does to figures at one setting, by the adjoint: no other circuit
/// is solved. To first order; what a part does at the ends of a wide tolerance may differ.
class PartSensitivity {
  public:
    /// `parts` are places in the board's list. `assembled` and `capsule` must outlive this.
    PartSensitivity(const Board& assembled, const Capsule* capsule, double rotation,
                    const Plans& plans, const std::vector<std::size_t>& parts);

    /// Of each part, in the order given: decibels per percent of gains, noise and their ratios,
    /// degrees per percent of phase, percent per percent of corner frequencies. Unset of measures
    /// that are no smooth function of the solution at one frequency or of noise, and of a part
    /// whose value decides about the structure of the circuit. Throws as Network::respond.
    std::vector<double> per_percent(const MeasureRecord& measure,
                                    const MeasureArguments& arguments);

  private:
    /// A network with the derivatives of its circuit.
    struct Side {
        Network network;
        std::vector<ValueSlope> slopes;
    };
    enum class Weighting { none, a, bs468 };

    Side& ideal();
    std::vector<Complex> gain(Side& side, double frequency_hz);
    std::vector<double> gain_db(Side& side, double frequency_hz);
    std::vector<double> noise_db(Side& side, const Band& band, Weighting weighting);
    std::vector<double> corner(double corner_hz);
    Side make_side(bool ideal) const;

    const Board& board_;
    const Capsule* capsule_;
    double rotation_;
    Plans plans_;
    std::vector<std::size_t> parts_;
    Side real_;
    std::unique_ptr<Side> ideal_;
};

}  // namespace lowhiss
