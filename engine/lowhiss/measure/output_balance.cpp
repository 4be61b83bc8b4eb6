#include "lowhiss/measure/output_balance.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/output_load.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

/// Below this part of the voltage a difference is rounding: 240 dB.
constexpr double lost_in_rounding = 1e-12;

/// Two by two, of the pins plus and minus to ground.
using PinMatrix = std::array<std::array<Complex, 2>, 2>;

/// Without load and cable, of admittance y between the pins:
/// Z + y (Z c)(c^T Z) / (1 - y c^T Z c), c = (1, -1), by Sherman and Morrison.
PinMatrix unloaded(const PinMatrix& z, Complex y) {
    const std::array<Complex, 2> column{z[0][0] - z[0][1], z[1][0] - z[1][1]};
    const std::array<Complex, 2> row{z[0][0] - z[1][0], z[0][1] - z[1][1]};
    const Complex factor = y / (1.0 - y * (column[0] - column[1]));
    PinMatrix result = z;
    for (const std::size_t i : {0U, 1U}) {
        for (const std::size_t k : {0U, 1U}) result[i][k] += factor * column[i] * row[k];
    }
    return result;
}

/// The voltage of each pin by a current of 1 A into one of them.
PinMatrix pin_matrix(Setting& setting, double frequency_hz) {
    Network& network = setting.network();
    network.solve(frequency_hz);
    const Circuit& circuit = network.circuit();
    const std::array<int, 2> pins{circuit.output_plus, circuit.output_minus};
    PinMatrix z{};
    for (const std::size_t into : {0U, 1U}) {
        if (pins[into] == 0) continue;
        const std::vector<Complex> v = network.respond_to_unit(pins[into] - 1);
        for (const std::size_t at : {0U, 1U}) z[at][into] = node_voltage(v, pins[at]);
    }
    return unloaded(z, load_siemens(setting.board().output, frequency_hz));
}

/// u+ - u- of output_balance.hpp.
double difference_at_receiver(const PinMatrix& z, double plus_ohm, double minus_ohm) {
    const Complex a = 1.0 + z[0][0] / plus_ohm;
    const Complex b = z[0][1] / minus_ohm;
    const Complex c = z[1][0] / plus_ohm;
    const Complex d = 1.0 + z[1][1] / minus_ohm;
    return std::abs((d - b - a + c) / (a * d - b * c));
}

}  // namespace

PinImpedances pin_impedances(Setting& setting, double frequency_hz) {
    const PinMatrix z = pin_matrix(setting, frequency_hz);
    return {or_unset(std::abs(z[0][0])), or_unset(std::abs(z[1][1]))};
}

double plus_pin_impedance_ohm(Setting& setting, double frequency_hz) {
    return pin_impedances(setting, frequency_hz).plus_ohm;
}

double minus_pin_impedance_ohm(Setting& setting, double frequency_hz) {
    return pin_impedances(setting, frequency_hz).minus_ohm;
}

double output_balance_db(Setting& setting, double frequency_hz) {
    const PinMatrix z = pin_matrix(setting, frequency_hz);
    const double more_ohm = receiver_ohm + receiver_imbalance_ohm;
    const double most = std::max(difference_at_receiver(z, receiver_ohm, more_ohm),
                                 difference_at_receiver(z, more_ohm, receiver_ohm));
    return most > lost_in_rounding ? or_unset(-db_from_ratio(most)) : unset;
}

}  // namespace lowhiss
