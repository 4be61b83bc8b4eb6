#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "lowhiss/board/part.hpp"
#include "lowhiss/impedance/file.hpp"

namespace lowhiss {

/// Data-sheet figures that op-amps and preamp ICs share. A figure that is left out is computed as
/// ideal, and so is one that is stated to be; only the former is in `missing` of the model.
struct AmplifierFigures {
    double current_noise_a_rthz = 0;
    double current_noise_corner_hz = 0;
    double input_resistance_ohm = infinite;
    double input_capacitance_f = 0;
    double common_mode_resistance_ohm = infinite;
    double common_mode_capacitance_f = 0;
    double output_resistance_ohm = 0;
    double cmrr = infinite;
    double cmrr_corner_hz = infinite;
    double psrr = infinite;
    double psrr_corner_hz = infinite;
    double slew_rate_v_s = infinite;
    double swing_from_positive_rail_v = 0;
    double swing_from_negative_rail_v = 0;
    double supply_min_v = 0;
    double supply_max_v = infinite;
    double supply_current_a = 0;
    double offset_voltage_v = 0;
    double bias_current_a = 0;
};

/// The guaranteed limit of a figure that the model also has a typical value of. `key` is that of
/// its field.
struct WorstFigure {
    std::string_view key;
    double value;  ///< in the figure's SI unit
};

/// How the pins of a kind of device are numbered.
struct Pinout {
    std::map<std::string, std::vector<PinNumbers>, std::less<>> units;  ///< empty: the only one
    std::vector<PinNumbers> common;  ///< of all units, as the supply pins are
    Position at;
};

struct OpAmpModel {
    AmplifierFigures common;
    double open_loop_gain = unset;
    double gain_bandwidth_hz = unset;
    double second_pole_hz = infinite;
    double voltage_noise_v_rthz = 0;
    double voltage_noise_corner_hz = 0;
    std::vector<WorstFigure> worst;
    std::vector<std::string_view> missing;  ///< keys of figures that the model leaves out
    std::string source;
    std::string pinout;  ///< empty: not known
};

struct GainBandwidth {
    double gain;
    double frequency_hz;
};

struct PreampIcModel {
    AmplifierFigures common;
    double gain_resistance_ohm = unset;
    double gain_offset = unset;
    double input_voltage_noise_v_rthz = 0;
    double input_voltage_noise_corner_hz = 0;
    double output_voltage_noise_v_rthz = 0;
    std::vector<GainBandwidth> bandwidth;  ///< two rows, or none for no limit
    std::vector<WorstFigure> worst;
    std::vector<std::string_view> missing;  ///< keys of figures that the model leaves out
    std::string source;
    std::string pinout;  ///< empty: not known
};

/// Time constants of a preamp IC: its bandwidth at a gain G is 1 / (2 pi (a + b G / gain_offset)).
struct PreampIcTimes {
    double a_s = 0;
    double b_s = 0;
};
PreampIcTimes times_of(const PreampIcModel& model);

struct ResistiveCapsule {
    double resistance_ohm = unset;
};

struct Resonance {
    double frequency_hz = unset;
    double q = unset;
    double resistance_ohm = unset;
};

struct DynamicCapsule {
    double coil_resistance_ohm = unset;
    double coil_inductance_h = 0;
    std::vector<Resonance> resonances;
};

struct CondenserCapsule {
    double capacitance_f = unset;
    double leakage_resistance_ohm = infinite;
};

struct ElectretCapsule {
    double output_resistance_ohm = unset;
    double self_noise_v_rthz = 0;
    double self_noise_corner_hz = 0;
    double capacitance_f = unset;  ///< for the record: it has no effect behind the buffer
};

struct MeasuredCapsule {
    std::string file;
    bool extrapolate = false;
    std::vector<ImpedancePoint> points;
};

struct Capsule {
    std::string name;
    std::variant<ResistiveCapsule, DynamicCapsule, CondenserCapsule, ElectretCapsule,
                 MeasuredCapsule>
        impedance;
    double sensitivity_v_pa = unset;
    std::string source;
    Position at;
};

/// One cell, or a battery sold as a unit.
struct BatteryModel {
    double full_v = unset;
    double nominal_v = unset;
    double empty_v = unset;
    double capacity_ah = unset;
    double internal_resistance_ohm = 0;
    std::string source;
};

/// One figure of a model as parts of the type have it: drawn between these ends.
struct SpreadFigure {
    std::string_view key;
    double low;
    double high;
};

/// The figures of a model that stray together.
struct ModelSpread {
    std::vector<SpreadFigure> figures;
    double correlation = 0;  ///< of any two of them
};

/// Voltages and currents are magnitudes, for either polarity.
struct BipolarModel {
    bool pnp = false;
    double current_gain = unset;
    double base_emitter_v = unset;
    double at_a = 1e-3;
    double early_v = infinite;
    double base_ohm = 0;
    double emitter_ohm = 0;
    double collector_ohm = 0;
    double reverse_current_gain = 1;
    double transition_hz = infinite;
    double transition_a = 1e-3;
    double base_emitter_f = 0;
    double collector_base_f = 0;
    double current_noise_corner_hz = 0;
    std::vector<WorstFigure> worst;
    std::vector<std::string_view> missing;  ///< keys of figures that the model leaves out
    ModelSpread spread;
    std::string source;
};

struct JfetModel {
    bool p_channel = false;
    double saturation_a = unset;
    double pinch_off_v = unset;
    double early_v = infinite;
    double gate_a = 0;
    double gate_source_f = 0;
    double gate_drain_f = 0;
    double voltage_noise_v_rthz = unset;
    double voltage_noise_corner_hz = 0;
    std::vector<WorstFigure> worst;
    std::vector<std::string_view> missing;  ///< keys of figures that the model leaves out
    ModelSpread spread;
    std::string source;
};

struct Models {
    std::map<std::string, OpAmpModel, std::less<>> opamps;
    std::map<std::string, PreampIcModel, std::less<>> preamp_ics;
    std::map<std::string, BipolarModel, std::less<>> bipolars;
    std::map<std::string, JfetModel, std::less<>> jfets;
    std::map<std::string, Capsule, std::less<>> capsules;
    std::map<std::string, BatteryModel, std::less<>> batteries;
    std::map<std::string, Pinout, std::less<>> pinouts;
};

/// The pinout of the model that the part names, or null.
const Pinout* pinout_of(const Part& part, const Models& models);

}  // namespace lowhiss
