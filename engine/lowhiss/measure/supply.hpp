#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

struct Circuit;
struct OperatingPoint;

/// A feed at the low end, the middle or the high end of its tolerance; batteries empty, at their
/// nominal voltage or full.
enum class SupplyEnd { low, nominal, high };
inline constexpr std::array supply_ends{SupplyEnd::low, SupplyEnd::nominal, SupplyEnd::high};
std::string_view text_of(SupplyEnd end);

Board at_supply(const Board& assembled, SupplyEnd end);

/// Whether the ends differ: there is a feed, or a battery.
bool has_supply_ends(const Board& assembled);

/// An amplifier with its supply pins: what they have, what its model wants, where its output is.
struct AmplifierState {
    std::string part;
    double supply_v = unset;
    double min_v = 0;
    double max_v = infinite;
    double output_v = unset;
    double output_offset_v = 0;  ///< either way, what all amplifiers' offsets may make of it
    double low_v = -infinite;    ///< between which its output can be
    double high_v = infinite;
    bool in_reach = true;  ///< false: the output is at a rail, or there is no room for it
};

/// What is taken from a feed, a battery, a source or a regulator.
struct SourceState {
    enum class Kind { feed, battery, source, regulator };
    Kind kind = Kind::source;
    std::string part;
    double volts = unset;    ///< at its terminals; of a feed, on the wires against the return
    double amperes = unset;  ///< that it delivers
    double limit_a = infinite;
    double capacity_ah = unset;
    bool regulates = true;  ///< of a regulator: its input suffices
    bool held = false;      ///< of a regulator: its output is held from elsewhere
};

struct CapacitorState {
    std::string part;
    double volts = unset;  ///< first pin against the second
    double rating_v = infinite;
    bool polarised = false;
};

struct WiperState {
    std::string part;
    double amperes = unset;
};

/// A board's direct voltages and currents with the knob at one rotation.
struct SupplyState {
    std::vector<AmplifierState> amplifiers;
    std::vector<SourceState> sources;
    std::vector<CapacitorState> capacitors;
    std::vector<WiperState> wipers;
    double output_v = unset;         ///< between the output terminals
    double output_offset_v = unset;  ///< either way, what the amplifiers' offsets may make of it
};

/// From the operating point of the board's circuit. Offsets are carried to the outputs by the
/// adjoint, and added up as if all had their worst sign.
SupplyState supply_state(const Board& assembled, const Circuit& circuit,
                         const OperatingPoint& point);

/// The same for a board that nothing else is asked about. Throws as operating_point does.
SupplyState supply_state(const Board& assembled, double rotation, const Capsule* capsule);

// Single figures; unset where there is nothing to tell them from.

/// How far the amplifier with the least room is inside its supply range; negative: outside.
double supply_margin_v(const SupplyState& state);
/// From feeds and batteries; from the other sources where there is neither.
double supply_current_a(const SupplyState& state);
/// Limit less current.
double feed_margin_a(const SupplyState& state);
/// Of the battery that is empty first, at this current all the time.
double battery_life_h(const SupplyState& state);
/// The largest either way.
double output_offset_v(const SupplyState& state);
double wiper_current_a(const SupplyState& state);
/// Of the capacitor that is nearest to its rating, voltage over rating.
double capacitor_stress(const SupplyState& state);

/// What will not work, or not for long, in words.
struct SupplyFault {
    enum class Kind {
        too_little,
        too_much,
        stuck,
        offset,
        overdrawn,
        starved,
        held,
        charged,
        over_rating,
        reversed
    };
    std::string part;
    Kind kind;
    std::string text;
};
std::vector<SupplyFault> faults_of(const SupplyState& state);

}  // namespace lowhiss
