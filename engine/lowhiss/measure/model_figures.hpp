#pragma once

#include <array>
#include <string_view>

namespace lowhiss::model_figures {

// Keys of the model schemas of amplifiers and transistors. A model without one of them counts as
// perfect there, so that a measure that rests on it is a best case.

inline constexpr std::array<std::string_view, 1> output_resistance{"output_resistance"};
inline constexpr std::array<std::string_view, 1> cmrr{"cmrr"};
inline constexpr std::array<std::string_view, 1> psrr{"psrr"};
inline constexpr std::array<std::string_view, 1> supply_current{"supply_current"};
inline constexpr std::array<std::string_view, 2> supply_range{"supply_min", "supply_max"};
inline constexpr std::array<std::string_view, 2> current_and_least_supply{"supply_current",
                                                                          "supply_min"};
inline constexpr std::array<std::string_view, 2> offsets{"offset_voltage", "bias_current"};
inline constexpr std::array<std::string_view, 3> swing{"swing_from_positive_rail",
                                                       "swing_from_negative_rail", "slew_rate"};

/// A transistor adds poles to a circuit by these.
inline constexpr std::array<std::string_view, 5> storage{
    "transition_frequency", "base_emitter_capacitance", "collector_base_capacitance",
    "gate_source_capacitance", "gate_drain_capacitance"};

/// By these the current of a transistor depends on the voltage at its collector or drain, and so on
/// a supply.
inline constexpr std::array<std::string_view, 3> from_the_collector{
    "early_voltage", "collector_base_capacitance", "gate_drain_capacitance"};

/// An op-amp has `voltage_noise`, a preamp IC that of its input and that of its output, and both
/// have `current_noise`. A bipolar transistor has `base_resistance` and the corner of its base
/// current's noise, a JFET the rest. Missing corners count for transistors only.
inline constexpr std::array<std::string_view, 8> noise{
    "voltage_noise",   "input_voltage_noise",  "output_voltage_noise", "current_noise",
    "base_resistance", "current_noise_corner", "voltage_noise_corner", "gate_current"};

template <std::size_t A, std::size_t B>
constexpr std::array<std::string_view, A + B> both(const std::array<std::string_view, A>& a,
                                                   const std::array<std::string_view, B>& b) {
    std::array<std::string_view, A + B> keys;
    for (std::size_t k = 0; k < A; ++k) keys[k] = a[k];
    for (std::size_t k = 0; k < B; ++k) keys[A + k] = b[k];
    return keys;
}
inline constexpr auto rejection = both(psrr, from_the_collector);
inline constexpr auto rejection_and_noise = both(rejection, noise);
inline constexpr auto swing_and_noise = both(swing, noise);
inline constexpr auto margins = both(output_resistance, storage);
inline constexpr auto output =
    both(output_resistance, std::array<std::string_view, 2>{"early_voltage", "base_resistance"});
inline constexpr auto linearity = both(swing, std::array<std::string_view, 1>{"early_voltage"});

/// The figure of a poor part, in SI units. A measure that moves if a model's missing figure is
/// replaced by this depends on it. From memory: worse than the usual parts of audio circuits.
struct PoorFigure {
    std::string_view key;
    double value;
    /// Whether a real part's figure may move a measure either way, whatever the measure's record
    /// says of the ideal one: a capacitance may make the dominant pole of a loop or the second one.
    bool either_way = false;
};
inline constexpr std::array amplifier_figures{
    PoorFigure{"output_resistance", 1e3},
    PoorFigure{"cmrr", 1e3},
    PoorFigure{"psrr", 1e3},
    PoorFigure{"supply_current", 20e-3},
    PoorFigure{"supply_min", 20},
    PoorFigure{"supply_max", 3},
    PoorFigure{"offset_voltage", 10e-3},
    PoorFigure{"bias_current", 10e-6},
    PoorFigure{"swing_from_positive_rail", 3},
    PoorFigure{"swing_from_negative_rail", 3},
    PoorFigure{"slew_rate", 1e5},
    PoorFigure{"voltage_noise", 100e-9},
    PoorFigure{"input_voltage_noise", 100e-9},
    PoorFigure{"output_voltage_noise", 1e-6},
    PoorFigure{"current_noise", 10e-12},
};
inline constexpr std::array transistor_figures{
    PoorFigure{"base_resistance", 500},
    PoorFigure{"current_noise_corner", 10e3},
    PoorFigure{"voltage_noise", 100e-9},
    PoorFigure{"voltage_noise_corner", 10e3},
    PoorFigure{"gate_current", 1e-9},
    PoorFigure{"early_voltage", 15, true},
    PoorFigure{"transition_frequency", 30e6, true},
    PoorFigure{"base_emitter_capacitance", 50e-12, true},
    PoorFigure{"collector_base_capacitance", 30e-12, true},
    PoorFigure{"gate_source_capacitance", 50e-12, true},
    PoorFigure{"gate_drain_capacitance", 30e-12, true},
};

}  // namespace lowhiss::model_figures
