#pragma once

#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

inline constexpr double unset = std::numeric_limits<double>::quiet_NaN();
inline constexpr double infinite = std::numeric_limits<double>::infinity();

// Names under which figures by part list what is not on the board.
inline constexpr std::string_view capsule_part = "capsule";
inline constexpr std::string_view feed_part = "feed";

/// The limits of a value's deviation, as fractions of the nominal value: low <= 0 <= high.
struct Tolerance {
    double low = 0;
    double high = 0;
};

/// The relative change of a value with each kelvin above the board's temperature. It lies between
/// two ends, low <= high, where parts of the kind differ.
struct TemperatureCoefficient {
    double low_per_k = 0;
    double high_per_k = 0;
};

struct Resistor {
    double resistance_ohm = unset;
    Tolerance tolerance;
    TemperatureCoefficient temperature_coefficient;
};

/// Lost fractions of a capacitance by direct voltage of either sign, the voltages ascending from 0.
using BiasLoss = std::vector<std::pair<double, double>>;

struct Capacitor {
    double capacitance_f = unset;
    double series_resistance_ohm = 0;
    double leakage_resistance_ohm = infinite;
    double rating_v = infinite;
    bool polarised = false;                        ///< the first pin is the positive one
    double voltage_coefficient_per_v = 0;          ///< C (1 + a v + b v^2) about rest, from the
    double square_voltage_coefficient_per_v2 = 0;  ///< first pin to the second
    BiasLoss bias_loss;                            ///< empty: nothing is lost
    Tolerance tolerance;
    TemperatureCoefficient temperature_coefficient;
};

struct Inductor {
    double inductance_h = unset;
    double series_resistance_ohm = 0;
    double parallel_capacitance_f = 0;
    Tolerance tolerance;
    TemperatureCoefficient temperature_coefficient;
};

struct Transformer {
    double ratio = unset;  ///< secondary turns over primary turns
    double primary_inductance_h = unset;
    double coupling = 1;
    double primary_resistance_ohm = 0;
    double secondary_resistance_ohm = 0;
};

struct Taper {
    enum class Kind { linear, log, reverse_log, table };
    Kind kind = Kind::linear;
    std::vector<std::pair<double, double>> points;  ///< rotation, fraction; of a table only
};

struct Potentiometer {
    double resistance_ohm = unset;
    double midpoint = 0.15;
    double end_resistance_ohm = 0;
    double position = 0.5;  ///< rotation of a trimmer, which no knob turns
    Tolerance tolerance;
    TemperatureCoefficient temperature_coefficient;
    Taper taper;
};

struct Link {
    bool closed = false;
};

struct OpAmp {
    std::string model;
};

struct PreampIc {
    std::string model;
};

/// Pins in the order collector, base, emitter.
struct Bipolar {
    std::string model;
};

/// Pins in the order drain, gate, source.
struct Jfet {
    std::string model;
};

struct ControlledSource {
    enum class Kind { voltage_gain, transconductance, transresistance, current_gain };
    Kind kind = Kind::voltage_gain;
    double gain = unset;  ///< V/V, S, ohm or A/A
};

struct IndependentSource {
    enum class Kind { voltage, current };
    Kind kind = Kind::voltage;
    double dc = unset;  ///< V or A
};

/// A junction by its data-sheet figures: a forward voltage at a current. The reverse voltage of a
/// Zener diode is `breakdown_v` at `breakdown_a`, where its differential resistance is
/// `breakdown_ohm`.
struct Diode {
    enum class Kind { diode, led, zener };
    Kind kind = Kind::diode;
    double forward_v = unset;
    double forward_a = 1e-3;
    double ideality = 1.8;
    double series_resistance_ohm = 0;
    double capacitance_f = 0;
    double breakdown_v = infinite;
    double breakdown_a = 5e-3;
    double breakdown_ohm = 10;
    double noise_v_rthz = 0;  ///< of the breakdown
};

/// Regulates the voltage between its output and its reference. A linear regulator draws the
/// output's current from its input, a converter the output's power over its efficiency.
struct Regulator {
    enum class Kind { linear, converter };
    Kind kind = Kind::linear;
    double output_v = unset;
    double dropout_v = 0;
    double input_min_v = 0;  ///< a converter's
    double efficiency = 1;   ///< a converter's
    double quiescent_current_a = 0;
    double output_resistance_ohm = 0;
    double ripple_rejection = infinite;
    double ripple_rejection_corner_hz = infinite;
    double noise_v_rthz = 0;
};

/// Its voltage falls along a straight line from full to nominal while the first half of its charge
/// is spent, and along another from nominal to empty with the second half.
struct Battery {
    std::string model;
    double cells = 1;    ///< in series
    double spent = 0.5;  ///< of its charge, 0 to 1; set by an analysis, not by the board file
};

using PartData =
    std::variant<Resistor, Capacitor, Inductor, Transformer, Potentiometer, Link, OpAmp, PreampIc,
                 Bipolar, Jfet, ControlledSource, IndependentSource, Diode, Regulator, Battery>;

struct Pin {
    std::string node;
    Position at;
};

/// The numbers of the device's pins under one key of a part or pinout: `supply = [8, 4]`.
struct PinNumbers {
    std::string key;
    std::vector<std::string> numbers;
};

/// "J1.2" in two, divided at the last point; nothing if either half is empty.
std::optional<std::pair<std::string, std::string>> device_and_pin(const std::string& text);

/// A part as the board file gives it. `pins` are in the order of its schema (schema.hpp); those of
/// an optional group at the end may be missing.
struct Part {
    std::string name;
    PartData data;
    std::vector<Pin> pins;
    bool fitted = true;
    std::string note;
    Position at;
    // The device that is soldered in, and its pins: these play no part in any figure.
    std::string device{};               ///< if it is not the part's name: one half of a dual op-amp
    std::string unit{};                 ///< of its model's pinout
    std::vector<PinNumbers> numbers{};  ///< in place of the pinout's
};

/// Whether parts of this kind have a value with a tolerance.
bool has_tolerance(const Part& part);
/// The fraction of its capacitance that a capacitor has lost at a direct voltage: linear between
/// the rows of its table, constant beyond them.
struct LostCapacitance {
    double fraction = 0;
    double slope_per_v = 0;  ///< of the fraction; where two rows meet, the mean of both sides
};
LostCapacitance lost_capacitance(const BiasLoss& table, double direct_v);

/// Zero for a part of a kind that has none.
Tolerance tolerance_of(const Part& part);
TemperatureCoefficient temperature_coefficient_of(const Part& part);

/// The model that the part names, or null for a part of a kind that has no model.
std::string* model_name(PartData& data);
const std::string* model_name(const PartData& data);

/// Whether the part has two pins that may change places without any effect.
bool is_reversible(const Part& part);

/// The fraction of the track between the counter-clockwise end and the wiper at a rotation x of
/// 0 to 1, without end resistance. A log taper is (b^x - 1)/(b - 1), b = (1/m - 1)^2, which gives
/// the midpoint m at half rotation.
double taper_fraction(const Potentiometer& potentiometer, double rotation);

/// Resistance of the counter-clockwise and the clockwise part of the track, in ohm.
std::pair<double, double> track_ohm(const Potentiometer& potentiometer, double rotation);

}  // namespace lowhiss
