#include "lowhiss/analysis/distortion.hpp"

#include <algorithm>
#include <numbers>

#include "lowhiss/circuit/index.hpp"

namespace lowhiss {
namespace {

using Phasors = std::vector<Complex>;

Complex sensed(const SensedVoltage& voltage, const Phasors& x) {
    Complex sum = 0;
    for (const auto& [unknown, weight] : voltage.terms) {
        if (unknown >= 0) sum += weight * x[at(unknown)];
    }
    return sum;
}

/// The phasor at 2f of 1/2 f_pq p q: of two cosines, half of the product is at 2f.
Complex second_order(const CurvedLaw& law, const Phasors& x) {
    const Curvature& c = law.curvature;
    const Complex p = sensed(law.p, x);
    const Complex q = sensed(law.q, x);
    return (c.pp * p * p + 2 * c.pq * p * q + c.qq * q * q) / 4.0;
}

/// The phasor at 3f: a quarter of the product of three cosines, and half of that of a cosine at f
/// with one at 2f.
Complex third_order(const CurvedLaw& law, const Phasors& x1, const Phasors& x2) {
    const Curvature& c = law.curvature;
    const Complex p1 = sensed(law.p, x1);
    const Complex q1 = sensed(law.q, x1);
    const Complex p2 = sensed(law.p, x2);
    const Complex q2 = sensed(law.q, x2);
    const Complex cubic = c.ppp * p1 * p1 * p1 + 3 * c.ppq * p1 * p1 * q1 +
                          3 * c.pqq * p1 * q1 * q1 + c.qqq * q1 * q1 * q1;
    const Complex mixed = c.pp * p1 * p2 + c.pq * (p1 * q2 + q1 * p2) + c.qq * q1 * q2;
    return cubic / 24.0 + mixed / 2.0;
}

Complex as_driven(const CurvedLaw& law, Complex value, double frequency_hz) {
    return law.is_charge ? value * Complex(0, 2 * std::numbers::pi * frequency_hz) : value;
}

void add_to(Phasors& drive, const Injection& into, Complex value) {
    for (const auto& [equation, weight] : into.terms) {
        if (equation >= 0) drive[at(equation)] += weight * value;
    }
}

PartHarmonics& entry_of(int part, std::vector<PartHarmonics>& parts) {
    const auto found = std::find_if(parts.begin(), parts.end(),
                                    [&](const PartHarmonics& each) { return each.part == part; });
    if (found != parts.end()) return *found;
    return parts.emplace_back(PartHarmonics{part, 0, 0});
}

}  // namespace

Harmonics harmonics_of(Network& network, std::span<const CurvedLaw> laws, double frequency_hz) {
    const Solution first = network.solve(frequency_hz);
    Harmonics result;
    result.gain = first.gain;
    if (laws.empty()) return result;

    const Solution at_second = network.solve(2 * frequency_hz);
    Phasors drive(first.x.size());
    for (const CurvedLaw& law : laws) {
        const Complex value = as_driven(law, second_order(law, first.x), 2 * frequency_hz);
        add_to(drive, law.into, value);
        entry_of(law.part, result.by_part).second += value * transfer_of(law.into, at_second.y);
    }
    const Phasors x2 = network.respond_to(drive);

    const Solution at_third = network.solve(3 * frequency_hz);
    for (const CurvedLaw& law : laws) {
        const Complex value = as_driven(law, third_order(law, first.x, x2), 3 * frequency_hz);
        entry_of(law.part, result.by_part).third += value * transfer_of(law.into, at_third.y);
    }
    for (const PartHarmonics& part : result.by_part) {
        result.second += part.second;
        result.third += part.third;
    }
    return result;
}

}  // namespace lowhiss
