#include "lowhiss/analysis/loop_gain.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>

#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

constexpr double lowest_loop_hz = 0.1;
constexpr double highest_loop_hz = 3e9;
constexpr int per_decade = 10;

double degrees(double radians) {
    return radians * 180 / std::numbers::pi;
}

/// Into (-180, 180].
double wrapped_deg(double angle_deg) {
    const double turned = std::remainder(angle_deg, 360.0);
    return turned <= -180 ? turned + 360 : turned;
}

double gain_db(Complex t) {
    return db_from_ratio(std::abs(t));
}

std::vector<double> scan(const std::vector<double>& also_hz, double lowest, double highest) {
    std::vector<double> frequencies;
    for (double k = 0; k <= std::log10(highest_loop_hz / lowest_loop_hz) * per_decade; ++k) {
        frequencies.push_back(lowest_loop_hz * std::pow(10, k / per_decade));
    }
    // Near a resonance the phase turns within its width.
    for (const double f_hz : also_hz) {
        for (const double beside : {0.98, 1.0, 1.02}) frequencies.push_back(f_hz * beside);
    }
    std::erase_if(frequencies, [&](double f_hz) {
        return !(f_hz >= lowest && f_hz <= highest && f_hz <= highest_loop_hz);
    });
    std::sort(frequencies.begin(), frequencies.end());
    return frequencies;
}

class MarginFinder {
  public:
    MarginFinder(Network& network, const std::vector<double>& also_hz)
        : network_(network),
          sources_(loop_sources(network.circuit())),
          scan_hz_(scan(also_hz, network.circuit().lowest_hz, network.circuit().highest_hz)) {}

    std::vector<LoopMargins> find() {
        if (sources_.empty()) return {};
        std::vector<std::vector<Complex>> curves(sources_.size());
        for (const double f_hz : scan_hz_) {
            for (std::size_t k = 0; k < sources_.size(); ++k) curves[k].emplace_back(unset, unset);
            try {
                network_.solve(f_hz);
                for (std::size_t k = 0; k < sources_.size(); ++k) {
                    curves[k].back() = return_ratio(network_, sources_[k]);
                }
            } catch (const Error&) {
                continue;  // no solution at this frequency
            }
        }
        std::vector<LoopMargins> margins;
        for (std::size_t k = 0; k < sources_.size(); ++k) {
            const LoopMargins found = margins_of(sources_[k], curves[k]);
            const bool second = !margins.empty() && margins.back().part == found.part;
            if (!second) margins.push_back(found);
            if (second && found.phase_margin_deg < margins.back().phase_margin_deg) {
                margins.back() = found;
            }
        }
        return margins;
    }

  private:
    Complex at(const LoopSource& source, double ln_hz) {
        network_.solve(std::exp(ln_hz));
        return return_ratio(network_, source);
    }

    template <class Curve>
    double root(double low_hz, double high_hz, Curve curve, double at_low, double at_high) {
        std::uintmax_t most_steps = 60;
        const auto [a, b] = boost::math::tools::toms748_solve(
            curve, std::log(low_hz), std::log(high_hz), at_low, at_high,
            [](double x, double y) { return std::abs(x - y) < 1e-9; }, most_steps);
        return (a + b) / 2;
    }

    LoopMargins margins_of(const LoopSource& source, const std::vector<Complex>& curve) {
        LoopMargins margins;
        margins.part = source.part;
        try {
            for (std::size_t k = 1; k < curve.size(); ++k) {
                look_for_crossover(source, curve[k - 1], curve[k], k, margins);
                look_for_phase_crossover(source, curve[k - 1], curve[k], k, margins);
            }
            return margins;
        } catch (const Error& error) {
            // No solution at a frequency of the search: no margin is better than one too many.
            if (error.kind() != Error::Kind::no_unique_solution) throw;
            LoopMargins none;
            none.part = source.part;
            return none;
        }
    }

    void look_for_crossover(const LoopSource& source, Complex low, Complex high, std::size_t k,
                            LoopMargins& margins) {
        const double at_low = gain_db(low);
        const double at_high = gain_db(high);
        if (!std::isfinite(at_low) || !std::isfinite(at_high)) return;
        if ((at_low > 0) == (at_high > 0)) return;
        const double ln_hz = root(
            scan_hz_[k - 1], scan_hz_[k], [&](double x) { return gain_db(at(source, x)); }, at_low,
            at_high);
        const double angle_deg = degrees(std::arg(at(source, ln_hz)));
        // If |T| rises through 1, the angle approaches -180 degrees from the other side.
        const double margin_deg = wrapped_deg(at_low > 0 ? 180 + angle_deg : 180 - angle_deg);
        if (margins.phase_margin_deg <= margin_deg) return;
        margins.phase_margin_deg = margin_deg;
        margins.crossover_hz = std::exp(ln_hz);
    }

    void look_for_phase_crossover(const LoopSource& source, Complex low, Complex high,
                                  std::size_t k, LoopMargins& margins) {
        if (!std::isfinite(low.imag()) || !std::isfinite(high.imag())) return;
        if ((low.imag() > 0) == (high.imag() > 0)) return;
        if (low.real() > 0 && high.real() > 0) return;
        const double ln_hz = root(
            scan_hz_[k - 1], scan_hz_[k], [&](double x) { return std::arg(-at(source, x)); },
            std::arg(-low), std::arg(-high));
        const Complex t = at(source, ln_hz);
        const double margin_db = -gain_db(t);
        if (t.real() >= 0 || !(margin_db > 0) || margins.gain_margin_db <= margin_db) return;
        margins.gain_margin_db = margin_db;
        margins.phase_crossover_hz = std::exp(ln_hz);
    }

    Network& network_;
    std::vector<LoopSource> sources_;
    std::vector<double> scan_hz_;
};

class LoopSourceLister {
  public:
    void add(const Element& element) {
        part_ = element.part;
        std::visit(*this, element.law);
    }

    void operator()(const Amplifier& e) {
        const int inner = e.x2 >= 0 ? e.x2 : e.x1;
        sources.push_back({part_, e.current, inner, e.out, e.output_resistance_ohm});
    }
    void operator()(const PreampStage& e) {
        if (e.integrator_f == 0) return;
        for (const std::size_t side : {0U, 1U}) {
            sources.push_back({part_, e.integrators[side], e.buffer_currents[side], -1, 0});
        }
    }
    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
                    VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent,
                    CurrentSource, Junction, RegulatorStage>
                  Law>
    void operator()(const Law&) {}

    std::vector<LoopSource> sources;

  private:
    int part_ = 0;
};

}  // namespace

std::vector<LoopSource> loop_sources(const Circuit& circuit) {
    LoopSourceLister lister;
    for (const Element& element : circuit.elements) lister.add(element);
    return std::move(lister.sources);
}

Complex return_ratio(Network& network, const LoopSource& source) {
    const std::vector<Complex> answer = network.respond_to_unit(source.equation);
    const Complex x = answer[static_cast<std::size_t>(source.answer)];
    if (source.out < 0) return -x / (x + 1.0);
    // The output branch says what the source gives with the test source in series.
    const Complex out = node_voltage(answer, source.out);
    const Complex current = answer[static_cast<std::size_t>(source.equation)];
    return -x / (out + source.output_resistance_ohm * current);
}

std::vector<LoopMargins> loop_margins(Network& network, const std::vector<double>& also_hz) {
    return MarginFinder(network, also_hz).find();
}

}  // namespace lowhiss
