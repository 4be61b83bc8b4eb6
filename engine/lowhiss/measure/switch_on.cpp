#include "lowhiss/measure/switch_on.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "lowhiss/analysis/relaxation.hpp"
#include "lowhiss/bias/direct.hpp"
#include "lowhiss/equations/stamp.hpp"
#include "lowhiss/measure/setting.hpp"

namespace lowhiss {
namespace {

constexpr double fastest_s = 2 * std::numbers::pi * 20000;  ///< rad/s
constexpr double slowest_rad_s = 1e-6;                      ///< slower ones never end
constexpr double growing_part = 1e-7;                       ///< less of |s| is rounding
constexpr double settled_part = 0.01;
constexpr double no_thump_v = 1e-6;
constexpr double first_step_s = 1e-6;
constexpr double longest_s = 1e7;
constexpr double steps_per_decade = 100;

/// An oscillation that turns by more than this, in radians, between two times counts with its
/// amplitude.
constexpr double most_turn = 0.5;

bool is_source(const Element& element) {
    if (const auto* branch = std::get_if<Branch>(&element.law)) return branch->dc_v != 0;
    if (const auto* source = std::get_if<CurrentSource>(&element.law)) return source->dc_a != 0;
    return std::holds_alternative<RegulatorStage>(element.law);
}

/// The charges and fluxes that an element lacks at the beginning: minus its part of C x, x the
/// operating point. An amplifier's inner states are at its output voltage; the zeros of common-mode
/// and supply rejection store nothing.
void add_lack(const Element& element, const std::vector<double>& x, std::vector<double>& lack) {
    std::vector<Triplet> triplets;
    stamp(element, triplets);
    const auto value = [&](int column) {
        if (const auto* e = std::get_if<Amplifier>(&element.law)) {
            return direct_voltage(x, e->out) +
                   e->output_resistance_ohm * x[static_cast<std::size_t>(e->current)];
        }
        return x[static_cast<std::size_t>(column)];
    };
    const bool stores_on_diagonal = std::holds_alternative<Amplifier>(element.law) ||
                                    std::holds_alternative<PreampStage>(element.law) ||
                                    std::holds_alternative<RegulatorStage>(element.law);
    for (const Triplet& t : triplets) {
        if (t.c == 0 || (stores_on_diagonal && t.row != t.column)) continue;
        lack[static_cast<std::size_t>(t.row)] -= t.c * value(t.column);
    }
}

/// One start for each part that stores.
struct Starts {
    std::vector<int> parts;
    std::vector<std::vector<double>> lacks;
};

Starts starts_of(const Circuit& circuit, const std::vector<double>& x) {
    std::map<int, std::vector<double>> by_part;
    for (const Element& element : circuit.elements) {
        auto& lack = by_part[element.part];
        lack.resize(x.size());
        add_lack(element, x, lack);
    }
    Starts starts;
    for (auto& [part, lack] : by_part) {
        if (std::all_of(lack.begin(), lack.end(), [](double v) { return v == 0; })) continue;
        starts.parts.push_back(part);
        starts.lacks.push_back(std::move(lack));
    }
    return starts;
}

/// The deviation of the output, by the modes that count.
class Deviation {
  public:
    Deviation(const Relaxation& modes, const std::vector<std::size_t>& counted)
        : modes_(modes), counted_(counted) {
        for (const std::size_t k : counted_) {
            Complex sum = 0;
            for (const auto& residues : modes.residue) sum += residues[k];
            whole_.push_back(sum);
        }
    }

    /// Its size at a time, `step_s` away from the next.
    double size(double t, double step_s) const {
        double sum = 0;
        double swinging = 0;
        for (std::size_t i = 0; i < counted_.size(); ++i) {
            const Complex s = modes_.s[counted_[i]];
            if (std::abs(s.imag()) * step_s > most_turn)
                swinging += std::abs(whole_[i]) * std::exp(s.real() * t);
            else
                sum += (whole_[i] * std::exp(s * t)).real();
        }
        return std::abs(sum) + swinging;
    }

    double largest_from(double t) const {
        double sum = 0;
        for (std::size_t i = 0; i < counted_.size(); ++i) {
            sum += std::abs(whole_[i]) * std::exp(modes_.s[counted_[i]].real() * t);
        }
        return sum;
    }

    double by_start(std::size_t start, double t) const {
        double sum = 0;
        for (const std::size_t k : counted_) {
            sum += (modes_.residue[start][k] * std::exp(modes_.s[k] * t)).real();
        }
        return std::abs(sum);
    }

    double slowest_s(double least_v) const {
        double slowest = 0;
        for (std::size_t i = 0; i < counted_.size(); ++i) {
            if (std::abs(whole_[i]) < least_v) continue;
            slowest = std::max(slowest, -1 / modes_.s[counted_[i]].real());
        }
        return slowest;
    }

  private:
    const Relaxation& modes_;
    const std::vector<std::size_t>& counted_;
    std::vector<Complex> whole_;
};

void follow(const Deviation& deviation, SwitchOn& result) {
    const double factor = std::pow(10.0, 1 / steps_per_decade);
    std::vector<double> times{0};
    std::vector<double> sizes{deviation.size(0, first_step_s)};
    result.thump_v = sizes.front();
    result.at_s = 0;
    for (double t = first_step_s;; t *= factor) {
        times.push_back(t);
        sizes.push_back(deviation.size(t, t * (factor - 1)));
        if (sizes.back() > result.thump_v) {
            result.thump_v = sizes.back();
            result.at_s = t;
        }
        if (deviation.largest_from(t) < std::max(settled_part * result.thump_v / 2, 1e-12)) break;
        if (t > longest_s) return;
    }
    if (result.thump_v < no_thump_v) {
        result.settling_s = 0;
        return;
    }
    const double allowed_v = settled_part * result.thump_v;
    std::size_t last = sizes.size() - 1;
    while (last > 0 && sizes[last] <= allowed_v) --last;
    double from = times[last];
    double to = times[last + 1];
    for (int k = 0; k < 50; ++k) {
        const double middle = (from + to) / 2;
        (deviation.size(middle, times[last + 1] - times[last]) > allowed_v ? from : to) = middle;
    }
    result.settling_s = to;
    result.slowest_s = deviation.slowest_s(allowed_v);
}

}  // namespace

SwitchOn switch_on_of(Setting& setting) {
    SwitchOn result;
    const Circuit& circuit = setting.circuit();
    if (std::none_of(circuit.elements.begin(), circuit.elements.end(), is_source)) return result;
    const Starts starts = starts_of(circuit, setting.operating().x);
    const Network& network = setting.network();
    const Relaxation modes = relaxation(network.pencil(), network.output_selection(), starts.lacks);
    if (modes.s.empty()) return result;
    std::vector<std::size_t> counted;
    double standing_v = 0;
    for (std::size_t k = 0; k < modes.s.size(); ++k) {
        const Complex s = modes.s[k];
        if (std::abs(s) > fastest_s) continue;
        if (s.real() > std::max(slowest_rad_s, growing_part * std::abs(s))) return result;
        if (s.real() < -slowest_rad_s) {
            counted.push_back(k);
            continue;
        }
        Complex sum = 0;
        for (const auto& residues : modes.residue) sum += residues[k];
        standing_v += std::abs(sum);
    }
    const Deviation deviation(modes, counted);
    follow(deviation, result);
    if (standing_v > std::max(settled_part * result.thump_v, no_thump_v)) {
        result.thump_v += standing_v;
        result.settling_s = unset;
    }
    double most_v = no_thump_v / 10;
    for (std::size_t k = 0; k < starts.parts.size(); ++k) {
        const double size_v = deviation.by_start(k, result.at_s);
        if (!(size_v > most_v)) continue;
        most_v = size_v;
        result.part = circuit.parts[static_cast<std::size_t>(starts.parts[k])].name;
    }
    return result;
}

double settling_s(Setting& setting) {
    return setting.switch_on().settling_s;
}

double thump_v(Setting& setting) {
    return setting.switch_on().thump_v;
}

}  // namespace lowhiss
