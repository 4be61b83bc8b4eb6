#pragma once

#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "lowhiss/analysis/distortion.hpp"
#include "lowhiss/analysis/network.hpp"
#include "lowhiss/analysis/noise.hpp"
#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/measure/part_rolloff.hpp"
#include "lowhiss/measure/plans.hpp"
#include "lowhiss/measure/source_noise.hpp"
#include "lowhiss/measure/stability.hpp"
#include "lowhiss/measure/supply.hpp"
#include "lowhiss/measure/switch_on.hpp"

namespace lowhiss {

/// The circuits of a setting. Each differs from the first in the resistances between the input
/// terminals or in the feed. These carry direct current too, so each circuit has an operating point
/// of its own, if it has junctions, transistors or regulators at all.
enum class CircuitKind {
    real,                    ///< the capsule's electromotive force behind its impedance
    ideal,                   ///< the same without the capsule's impedance; without one, as `real`
    common,                  ///< driven by Drive::common
    common_swapped,          ///< driven by Drive::common_swapped
    radio,                   ///< driven by Drive::radio
    radio_common,            ///< driven by Drive::radio_common
    radio_common_swapped,    ///< driven by Drive::radio_common_swapped
    mismatched_feed,         ///< the feed's plus resistor as much the larger as it may be
    mismatched_feed_swapped  ///< the minus resistor the larger
};

/// One circuit for small signals, for a caller that needs nothing else of the setting. Throws as
/// operating_point does.
Circuit small_signal_circuit(const Board& assembled, const Capsule* capsule, double rotation,
                             CircuitKind kind);

/// One assembly of a board with a capsule at its input and the knob at one rotation. Everything is
/// solved when it is first needed, and kept; so is each circuit's operating point. One object per
/// thread. Errors as of Network::respond.
class Setting {
  public:
    /// A null capsule is an ideal source. `assembled`, `capsule` and `ends`, which other settings
    /// of the board may share, must outlive the setting. Throws as operating_point does.
    Setting(const Board& assembled, const Capsule* capsule, double rotation, Plans plans = {},
            SupplyEndBoards* ends = nullptr);

    Setting(const Setting&) = delete;  // it may refer to its own boards
    Setting& operator=(const Setting&) = delete;

    double rotation() const { return rotation_; }  ///< unset without a knob
    double angle() const;                          ///< the same as a number: 0 without a knob
    bool has_capsule() const { return capsule_ != nullptr; }
    const Board& board() const { return *board_; }
    const Capsule* capsule() const { return capsule_; }

    /// Plans for networks that are not made yet.
    void use(const Plans& plans) { plans_ = plans; }
    const Plans& plans() const { return plans_; }

    /// The network for small signals; a reference stays valid. Mismatched feeds need a board with a
    /// feed.
    const Circuit& circuit(CircuitKind kind = CircuitKind::real);
    Network& network(CircuitKind kind = CircuitKind::real);

    /// Solve at all of these at once, so that `at`, or `ideal_at`, finds them done.
    void prepare(std::span<const double> frequency_hz);
    void prepare_ideal(std::span<const double> frequency_hz);

    const Response& at(double frequency_hz);
    const Response& ideal_at(double frequency_hz);

    const OutputNoise& noise(const Band& band);
    double ideal_noise_v2(const Band& band);
    const std::vector<double>& noise_uncertainty(const Band& band);
    const std::vector<PartRolloff>& rolloff();
    /// The parts behind the loss at a frequency; without causes where it is unset.
    PartBassLoss bass_loss(double frequency_hz);
    const std::vector<double>& resonances_hz();
    const std::vector<double>& flanks_hz();  ///< of resonances, and these
    double low_corner_hz();
    double high_corner_hz();

    /// The direct voltages and currents of the real circuit.
    const OperatingPoint& operating();
    /// At the nominal supply it is read from `operating()`; at the ends of the supply other direct
    /// currents flow, so these are solved on their own.
    const SupplyState& supply(SupplyEnd end);
    /// The harmonics of a small sine, by the curved laws of the parts.
    const Harmonics& harmonics(double frequency_hz);
    /// See source_noise.hpp.
    const InputNoiseSources& input_noise(double frequency_hz);
    const BestSource& best_source(const Band& band);
    const Stability& stability();
    const SwitchOn& switch_on();
    /// The stability with another capacitance on the output; it carries no direct current, so the
    /// operating point is the same.
    Stability stability_with_cable(double cable_f);

    /// The work of all networks together, except those inside `stability`.
    SolverAccount account() const;
    /// The number of times that direct voltages were solved for.
    int operating_points_found() const { return operating_points_found_; }

  private:
    struct Side {
        std::optional<OperatingPoint> point;
        std::unique_ptr<const Circuit> circuit;  ///< until the network owns it
        std::optional<Network> network;
    };

    std::shared_ptr<const Plan> plan_of(CircuitKind kind) const;
    Circuit small_signal(Circuit built, std::optional<OperatingPoint>& point);

    const Board* board_;
    SupplyEndBoards own_ends_;
    SupplyEndBoards* ends_;  ///< these, or those that are shared
    const Capsule* capsule_;
    double rotation_;
    Plans plans_;
    int operating_points_found_ = 0;
    std::map<CircuitKind, Side> sides_;
    std::map<double, Response> responses_;
    std::map<double, Response> ideal_responses_;
    std::map<std::pair<double, double>, OutputNoise> noise_;
    std::map<std::pair<double, double>, double> ideal_noise_v2_;
    std::map<std::pair<double, double>, std::vector<double>> noise_uncertainty_;
    std::optional<std::vector<PartRolloff>> rolloff_;
    std::optional<std::vector<double>> resonances_hz_;
    std::optional<std::vector<double>> flanks_hz_;
    std::optional<double> low_corner_hz_;
    std::optional<double> high_corner_hz_;
    std::map<SupplyEnd, SupplyState> supply_;
    std::optional<std::vector<CurvedLaw>> curved_laws_;
    std::map<double, Harmonics> harmonics_;
    std::map<double, InputNoiseSources> input_noise_;
    std::map<std::pair<double, double>, BestSource> best_source_;
    std::optional<Stability> stability_;
    std::optional<SwitchOn> switch_on_;
};

}  // namespace lowhiss
