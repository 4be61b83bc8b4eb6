#pragma once

#include <array>
#include <string_view>

namespace lowhiss::model_figures {

// Keys of the amplifiers' model schemas. A model without one of them counts as perfect there, so
// that a measure that rests on it is a best case.

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

/// An op-amp has `voltage_noise`; a preamp IC has that of its input and of its output.
inline constexpr std::array<std::string_view, 4> noise{"voltage_noise", "input_voltage_noise",
                                                       "output_voltage_noise", "current_noise"};

template <std::size_t A, std::size_t B>
constexpr std::array<std::string_view, A + B> both(const std::array<std::string_view, A>& a,
                                                   const std::array<std::string_view, B>& b) {
    std::array<std::string_view, A + B> keys;
    for (std::size_t k = 0; k < A; ++k) keys[k] = a[k];
    for (std::size_t k = 0; k < B; ++k) keys[A + k] = b[k];
    return keys;
}
inline constexpr auto psrr_and_noise = both(psrr, noise);
inline constexpr auto swing_and_noise = both(swing, noise);

/// The figure of a poor part, in SI units. A measure that moves if a model's missing figure is
/// replaced by this depends on it. From memory: worse than the usual parts of audio circuits.
struct PoorFigure {
    std::string_view key;
    double value;
};
inline constexpr std::array poor_figures{
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

}  // namespace lowhiss::model_figures
