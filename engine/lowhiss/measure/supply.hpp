#pragma once

#include <array>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/bias/transistor_region.hpp"
#include "lowhiss/board/board.hpp"

namespace lowhiss {

struct Circuit;
struct OperatingPoint;

/// A feed at the low end, the middle or the high end of its tolerance; batteries empty, at their
/// nominal voltage or full.
enum class SupplyEnd { low, nominal, high };
inline constexpr std::array supply_ends{SupplyEnd::low, SupplyEnd::nominal, SupplyEnd::high};
std::string_view text_of(SupplyEnd end);

/// The board with its feed or its batteries at that end.
Board at_supply(const Board& assembled, SupplyEnd end);

/// The board with that part of the charge of each battery spent.
Board with_spent_batteries(Board assembled, double spent);

/// True with a feed or a battery; otherwise the ends do not differ.
bool has_supply_ends(const Board& assembled);

/// The board at either end of its supply, made when it is first needed; all knob positions of an
/// assembly share it. The board must outlive the object. One object per thread.
class SupplyEndBoards {
  public:
    explicit SupplyEndBoards(const Board& assembled) : assembled_(&assembled) {}
    const Board& at(SupplyEnd end);

  private:
    const Board* assembled_;
    std::map<SupplyEnd, Board> made_;
};

/// The direct voltages of an amplifier whose supply pins are drawn.
struct AmplifierState {
    std::string part;
    double supply_v = unset;
    double min_v = 0;  ///< of the supply, by its model
    double max_v = infinite;
    double output_v = unset;
    double output_offset_v = 0;  ///< largest change of it, either way, by all amplifiers' offsets
    double low_v = -infinite;    ///< the range of its output
    double high_v = infinite;
    bool in_reach = true;  ///< false: the output is at a rail, or the range is empty
};

/// The load on a feed, a battery, a source or a regulator.
struct SourceState {
    enum class Kind { feed, battery, source, regulator };
    Kind kind = Kind::source;
    std::string part;
    double volts = unset;    ///< at its terminals; for a feed the mean of both wires to the return
    double amperes = unset;  ///< that it delivers; negative: it is charged
    double limit_a = infinite;
    double capacity_ah = unset;
    bool regulates = true;  ///< false for a regulator that drops out
    bool held = false;      ///< true for a regulator whose output another source holds higher
};

struct CapacitorState {
    std::string part;
    double volts = unset;  ///< first pin to second
    double rating_v = infinite;
    bool polarised = false;
    double capacitance_f = unset;  ///< at that voltage
    bool loses = false;            ///< it has a bias_loss
};

/// A transistor at rest. Voltages are between its pins, from the control pin or the collector or
/// drain to the emitter or source, with their signs; the current is that into the collector or
/// drain.
struct TransistorState {
    std::string part;
    bool jfet = false;
    bool mirrored = false;  ///< pnp or p-channel
    TransistorRegion region = TransistorRegion::active;
    double amperes = unset;
    double control_v = unset;
    double across_v = unset;
    double dissipation_w = unset;
};

/// "active", "saturated", "cut off", "reversed"; of a JFET "saturation", "triode", "cut off",
/// "gate conducts", "reversed"
std::string_view region_text(const TransistorState& state);

struct WiperState {
    std::string part;
    double amperes = unset;
};

/// A board's direct voltages and currents with the knob at one rotation.
struct SupplyState {
    std::vector<AmplifierState> amplifiers;
    std::vector<TransistorState> transistors;
    std::vector<SourceState> sources;
    std::vector<CapacitorState> capacitors;
    std::vector<WiperState> wipers;
    double output_v = unset;         ///< between the output terminals
    double output_offset_v = unset;  ///< largest change of it, either way, by amplifiers' offsets
};

/// Reads the state from the operating point of the board's circuit. The effect of offsets on the
/// outputs is found by the adjoint, and added up as if all had their worst sign.
SupplyState supply_state(const Board& assembled, const Circuit& circuit,
                         const OperatingPoint& point);

/// The same, with an operating point that is found here. Throws as operating_point does.
SupplyState supply_state(const Board& assembled, double rotation, const Capsule* capsule);

// Single figures; unset if no part has one.

/// The least distance of an amplifier's supply from the ends of its range; negative: outside.
double supply_margin_v(const SupplyState& state);
/// The sum of the currents that feeds and batteries deliver, or the other sources if there is
/// neither; both halves of a split supply count. A source that takes current adds nothing.
double supply_current_a(const SupplyState& state);
/// Limit less current.
double feed_margin_a(const SupplyState& state);
/// Largest direct voltage at the output, either way, with offsets at their worst.
double output_offset_v(const SupplyState& state);
/// Largest direct current through a wiper.
double wiper_current_a(const SupplyState& state);
/// Direct voltage over rating, of the capacitor with the most.
double capacitor_stress(const SupplyState& state);

/// A fault of one part by its direct voltages or currents.
struct SupplyFault {
    using Kind = FaultKind;
    std::string part;
    Kind kind;
    std::string text;  ///< what is wrong, without the part: "drops out: output 2 V"
    double excess;     ///< volts or amperes beyond what is allowed, to find the worst of a kind
};
std::vector<SupplyFault> faults_of(const SupplyState& state);

}  // namespace lowhiss
