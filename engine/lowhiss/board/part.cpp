#include "lowhiss/board/part.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

template <class Kind>
concept Passive = OneOf<Kind, Resistor, Capacitor, Inductor, Potentiometer>;

template <class Kind>
concept NotPassive = OneOf<Kind, Transformer, Link, OpAmp, PreampIc, Bipolar, Jfet,
                           ControlledSource, IndependentSource, Diode, Regulator, Battery>;

std::string* const no_model = nullptr;

double log_fraction(double midpoint, double rotation) {
    const double root = 1 / midpoint - 1;
    if (root == 1) return rotation;  // midpoint 0.5: the limit of the law is linear
    const double ln_b = 2 * std::log(root);
    if (ln_b < 0) return std::expm1(rotation * ln_b) / std::expm1(ln_b);
    // The same over b, which overflows for a midpoint below 1e-154.
    return std::exp((rotation - 1) * ln_b) * std::expm1(-rotation * ln_b) / std::expm1(-ln_b);
}

double table_fraction(const std::vector<std::pair<double, double>>& points, double rotation) {
    const auto above = std::find_if(points.begin() + 1, points.end() - 1,
                                    [&](const auto& point) { return point.first >= rotation; });
    const auto& [x0, y0] = *(above - 1);
    const auto& [x1, y1] = *above;
    return y0 + (y1 - y0) * (rotation - x0) / (x1 - x0);
}

}  // namespace

bool has_tolerance(const Part& part) {
    return std::visit(Overloads{[](const Passive auto&) { return true; },
                                [](const NotPassive auto&) { return false; }},
                      part.data);
}

Tolerance tolerance_of(const Part& part) {
    return std::visit(Overloads{[](const Passive auto& data) { return data.tolerance; },
                                [](const NotPassive auto&) { return Tolerance{}; }},
                      part.data);
}

TemperatureCoefficient temperature_coefficient_of(const Part& part) {
    return std::visit(
        Overloads{[](const Passive auto& data) { return data.temperature_coefficient; },
                  [](const NotPassive auto&) { return TemperatureCoefficient{}; }},
        part.data);
}

std::string* model_name(PartData& data) {
    return std::visit(
        Overloads{[](OneOf<OpAmp, PreampIc, Bipolar, Jfet, Battery> auto& modelled) {
                      return &modelled.model;
                  },
                  [](const Passive auto&) { return no_model; },
                  [](const OneOf<Transformer, Link, ControlledSource, IndependentSource, Diode,
                                 Regulator> auto&) { return no_model; }},
        data);
}

const std::string* model_name(const PartData& data) {
    return model_name(const_cast<PartData&>(data));
}

bool is_reversible(const Part& part) {
    return std::visit(
        Overloads{
            [](const OneOf<Resistor, Inductor, Link> auto&) { return true; },
            [](const Capacitor& capacitor) {
                return !capacitor.polarised && capacitor.voltage_coefficient_per_v == 0;
            },
            [](const OneOf<Transformer, Potentiometer, OpAmp, PreampIc, Bipolar, Jfet,
                           ControlledSource, IndependentSource, Diode, Regulator, Battery> auto&) {
                return false;
            }},
        part.data);
}

LostCapacitance lost_capacitance(const BiasLoss& table, double direct_v) {
    const double size_v = std::abs(direct_v);
    const auto slope_from = [&](std::size_t row) {
        if (row + 1 >= table.size()) return 0.0;
        return (table[row + 1].second - table[row].second) /
               (table[row + 1].first - table[row].first);
    };
    LostCapacitance lost;
    for (std::size_t row = 0; row < table.size(); ++row) {
        if (size_v < table[row].first) break;
        const double slope = slope_from(row);
        lost.fraction = table[row].second + slope * (size_v - table[row].first);
        const bool where_rows_meet = size_v == table[row].first;
        const double before = row > 0 ? slope_from(row - 1) : -slope;
        lost.slope_per_v = where_rows_meet ? (before + slope) / 2 : slope;
    }
    if (direct_v < 0) lost.slope_per_v = -lost.slope_per_v;
    return lost;
}

double taper_fraction(const Potentiometer& potentiometer, double rotation) {
    switch (potentiometer.taper.kind) {
        case Taper::Kind::linear:
            return rotation;
        case Taper::Kind::log:
            return log_fraction(potentiometer.midpoint, rotation);
        case Taper::Kind::reverse_log:
            return 1 - log_fraction(potentiometer.midpoint, 1 - rotation);
        case Taper::Kind::table:
            return table_fraction(potentiometer.taper.points, rotation);
    }
    return unset;
}

std::pair<double, double> track_ohm(const Potentiometer& potentiometer, double rotation) {
    const double fraction = taper_fraction(potentiometer, rotation);
    return {potentiometer.end_resistance_ohm + potentiometer.resistance_ohm * fraction,
            potentiometer.end_resistance_ohm + potentiometer.resistance_ohm * (1 - fraction)};
}

std::optional<std::pair<std::string, std::string>> device_and_pin(const std::string& text) {
    const auto stop = text.rfind('.');
    if (stop == std::string::npos || stop == 0 || stop + 1 == text.size()) return std::nullopt;
    return std::pair(text.substr(0, stop), text.substr(stop + 1));
}

}  // namespace lowhiss
