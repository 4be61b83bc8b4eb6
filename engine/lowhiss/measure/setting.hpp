#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/analysis/noise.hpp"
#include "lowhiss/analysis/rolloff.hpp"
#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/plans.hpp"
#include "lowhiss/measure/stability.hpp"
#include "lowhiss/measure/supply.hpp"

namespace lowhiss {

struct PartRolloff {
    std::string part;
    Rolloff rolloff;
};

/// One assembly of a board with a capsule in front and the knob at one rotation, solved as far as
/// is asked and no further. One object a thread. Errors as of Network::respond.
class Setting {
  public:
    /// A null capsule is an ideal source. `assembled` must outlive the setting.
    Setting(const Board& assembled, const Capsule* capsule, double rotation, Plans plans = {});

    double rotation() const { return rotation_; }  ///< unset without a knob
    bool has_capsule() const { return capsule_ != nullptr; }
    const Board& board() const { return *board_; }
    const Capsule* capsule() const { return capsule_; }

    Network& network() { return network_; }
    Network& ideal();  ///< the same with the capsule's impedance set to zero

    /// Solve at all of these at once, so that `at`, or `ideal_at`, finds them done.
    void prepare(std::span<const double> frequency_hz);
    void prepare_ideal(std::span<const double> frequency_hz);

    const Response& at(double frequency_hz);
    const Response& ideal_at(double frequency_hz);

    const OutputNoise& noise(const Band& band);
    double ideal_noise_v2(const Band& band);
    const std::vector<PartRolloff>& rolloff();
    const std::vector<double>& resonances_hz();
    double low_corner_hz();
    double high_corner_hz();

    /// The same board otherwise driven, and held as far as its capsule was measured.
    Network& driven(Drive drive);
    /// With the feed's resistors as unequal as they may be; null without a feed.
    Network* mismatched_feed();

    const OperatingPoint& operating();
    const SupplyState& supply(SupplyEnd end);
    const Stability& stability();

    SolverAccount account() const;

  private:
    const Board* board_;
    const Capsule* capsule_;
    double rotation_;
    Plans plans_;
    Network network_;
    std::optional<Network> ideal_;
    std::map<double, Response> responses_;
    std::map<double, Response> ideal_responses_;
    std::map<std::pair<double, double>, OutputNoise> noise_;
    std::map<std::pair<double, double>, double> ideal_noise_v2_;
    std::optional<std::vector<PartRolloff>> rolloff_;
    std::optional<std::vector<double>> resonances_hz_;
    std::optional<double> low_corner_hz_;
    std::optional<double> high_corner_hz_;
    std::map<Drive, Network> driven_;
    std::optional<Network> mismatched_feed_;
    std::optional<OperatingPoint> operating_;
    std::map<SupplyEnd, SupplyState> supply_;
    std::optional<Stability> stability_;
};

}  // namespace lowhiss
