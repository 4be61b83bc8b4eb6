#include "lowhiss/analysis/loop_gain.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <memory>
#include <numbers>
#include <optional>

#include "lowhiss/analysis/loop_curve.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

constexpr double lowest_loop_hz = 0.1;
constexpr double highest_loop_hz = 3e9;
constexpr double per_turn = 2 * std::numbers::pi;

/// A smaller loop gain counts as none: below this there is only rounding, and margins are of no
/// use.
constexpr double smallest_loop_gain = 1e-9;

double degrees(double radians) {
    return radians * 180 / std::numbers::pi;
}

/// Into (-180, 180].
double wrapped_deg(double angle_deg) {
    const double turned = std::remainder(angle_deg, 360.0);
    return turned <= -180 ? turned + 360 : turned;
}

double ln_gain(Complex t) {
    return std::log(std::abs(t));
}
double angle_beyond(Complex t) {
    return beyond_half_turn(std::arg(t));
}

std::vector<double> decades(int per_decade) {
    std::vector<double> list{highest_loop_hz};
    for (double k = 0; k <= std::log10(highest_loop_hz / lowest_loop_hz) * per_decade; ++k) {
        list.push_back(lowest_loop_hz * std::pow(10, k / per_decade));
    }
    return list;
}

/// Beside a root T turns within the root's distance from the axis.
void add_about(const std::vector<Complex>& roots, std::vector<double>& list) {
    for (const Complex& root : roots) {
        for (const double widths : {-4.0, -2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0, 4.0}) {
            list.push_back((root.imag() + widths * std::abs(root.real())) / per_turn);
        }
    }
}

/// T of every loop at some frequencies; unset where the equations cannot be solved.
struct LoopSamples {
    std::vector<double> at_hz;
    std::vector<std::vector<Complex>> t;  ///< by loop, then frequency
};

/// The direction in which |T| crosses 1.
enum class Way { falls, rises };

double phase_margin_of(Complex t, Way way, bool stable) {
    const double angle_deg = degrees(std::arg(t));
    if (stable) return 180 - std::abs(angle_deg);
    return wrapped_deg(way == Way::falls ? 180 + angle_deg : 180 - angle_deg);
}

void keep_lesser(const LoopMargins& other, LoopMargins& margins) {
    if (!(other.phase_margin_deg >= margins.phase_margin_deg) &&
        !std::isnan(other.phase_margin_deg)) {
        margins.phase_margin_deg = other.phase_margin_deg;
        margins.crossover_hz = other.crossover_hz;
    }
    if (!(other.gain_margin_db >= margins.gain_margin_db) && !std::isnan(other.gain_margin_db)) {
        margins.gain_margin_db = other.gain_margin_db;
        margins.phase_crossover_hz = other.phase_crossover_hz;
    }
}

bool has_margin(const LoopMargins& margins) {
    return !std::isnan(margins.phase_margin_deg) || !std::isnan(margins.gain_margin_db);
}

class MarginFinder {
  public:
    MarginFinder(Network& network, bool stable, const std::vector<double>& also_hz)
        : network_(network),
          stable_(stable),
          also_hz_(also_hz),
          sources_(loop_sources(network.circuit())) {}

    std::vector<LoopMargins> find() {
        std::vector<LoopMargins> margins;
        if (sources_.empty()) return margins;
        // Between samples T follows its zeros and poles, but for a measured impedance.
        const LoopSamples samples = sampled(decades(network_.pencil().measured.empty() ? 2 : 4));
        for (std::size_t k = 0; k < sources_.size(); ++k) {
            const LoopMargins found = margins_of(k, samples);
            const bool transistor = std::holds_alternative<Transconductance>(sources_[k].law);
            const bool second = !margins.empty() && margins.back().part == found.part;
            if (second)
                keep_lesser(found, margins.back());
            else if (!transistor || has_margin(found))
                margins.push_back(found);
        }
        return margins;
    }

  private:
    LoopSamples sampled(std::vector<double> list) {
        std::erase_if(list, [&](double f_hz) {
            const Circuit& circuit = network_.circuit();
            return !(f_hz >= std::max(lowest_loop_hz, circuit.lowest_hz) &&
                     f_hz <= std::min(highest_loop_hz, circuit.highest_hz));
        });
        std::sort(list.begin(), list.end());
        list.erase(std::unique(list.begin(), list.end()), list.end());
        LoopSamples samples{std::move(list), {}};
        samples.t.resize(sources_.size());
        for (std::size_t k = 0; k < sources_.size(); ++k) {
            samples.t[k] = ratios(sources_[k], samples.at_hz);
        }
        return samples;
    }

    /// T at each frequency, or unset: digits are lost only far beyond the crossover.
    std::vector<Complex> ratios(const LoopSource& source, std::span<const double> at_hz) {
        try {
            return return_ratios(network_, source, at_hz);
        } catch (const Error&) {
            if (at_hz.size() == 1) return {{unset, unset}};
        }
        std::vector<Complex> each;
        for (const double& f_hz : at_hz) each.push_back(ratios(source, {&f_hz, 1}).front());
        return each;
    }

    Complex at(const LoopSource& source, double ln_hz) {
        const double f_hz = std::exp(ln_hz);
        return ratios(source, {&f_hz, 1}).front();
    }

    LoopMargins margins_of(std::size_t loop, const LoopSamples& samples) {
        LoopMargins margins;
        margins.part = sources_[loop].part;
        const std::vector<Complex>& t = samples.t[loop];
        const bool none = std::none_of(t.begin(), t.end(), [](const Complex& each) {
            return std::abs(each) > smallest_loop_gain;
        });
        if (none) return margins;
        const std::shared_ptr<const Plan> plan = network_.plan();
        std::optional<LoopCurve> curve;
        bool fits = false;
        // The network's plan may not suit the opened loop, which then gets one of its own.
        for (const Plan* each : {plan.get(), static_cast<const Plan*>(nullptr)}) {
            if (fits) break;
            curve = loop_curve(network_.pencil(), each, sources_[loop]);
            fits = curve && fits_to(samples.at_hz, t, *curve);
        }
        const CrossingRanges ranges = fits ? crossings_of(*curve, per_turn * samples.at_hz.front(),
                                                          per_turn * samples.at_hz.back())
                                           : between_samples(loop, curve);
        for (const CrossingRange& range : ranges.gain) add_crossover(loop, range, margins);
        for (const CrossingRange& range : ranges.phase) add_phase_crossover(loop, range, margins);
        return margins;
    }

    /// Gives the curve its factor; false if it is not T to a thousandth.
    static bool fits_to(const std::vector<double>& at_hz, const std::vector<Complex>& t,
                        LoopCurve& curve) {
        std::size_t best = t.size();
        for (std::size_t k = 0; k < t.size(); ++k) {
            if (!std::isfinite(ln_gain(t[k]))) continue;
            if (best == t.size() || std::abs(ln_gain(t[k])) < std::abs(ln_gain(t[best]))) best = k;
        }
        if (best == t.size()) return false;
        curve.ln_factor = std::log(t[best]) - curve.ln_t(per_turn * at_hz[best]);
        for (std::size_t k = 0; k < t.size(); ++k) {
            if (!(std::abs(t[k]) > 1e2 * smallest_loop_gain)) continue;
            const Complex ratio = std::exp(curve.ln_t(per_turn * at_hz[k])) / t[k];
            if (!(std::abs(ratio - 1.0) < 1e-3)) return false;
        }
        return true;
    }

    CrossingRanges between_samples(std::size_t loop, const std::optional<LoopCurve>& curve) {
        std::vector<double> list = decades(10);
        for (const double f_hz : also_hz_) {
            for (const double beside : {0.98, 1.0, 1.02}) list.push_back(f_hz * beside);
        }
        if (curve) {
            add_about(curve->zeros, list);
            add_about(curve->poles, list);
        }
        const LoopSamples samples = sampled(std::move(list));
        const std::vector<Complex>& t = samples.t[loop];
        CrossingRanges ranges;
        for (std::size_t k = 1; k < t.size(); ++k) {
            const Complex low = t[k - 1];
            const Complex high = t[k];
            if (!std::isfinite(ln_gain(low)) || !std::isfinite(ln_gain(high))) continue;
            const CrossingRange range{std::log(per_turn * samples.at_hz[k - 1]),
                                      std::log(per_turn * samples.at_hz[k])};
            if ((ln_gain(low) > 0) != (ln_gain(high) > 0)) ranges.gain.push_back(range);
            const bool turns = (angle_beyond(low) > 0) != (angle_beyond(high) > 0);
            if (turns && std::abs(angle_beyond(low) - angle_beyond(high)) < std::numbers::pi) {
                ranges.phase.push_back(range);
            }
        }
        return ranges;
    }

    /// The zero of a function of T within a range, as ln f; nothing if T has none there.
    template <class Function>
    std::optional<double> zero_of(std::size_t loop, const CrossingRange& range, Function function) {
        const double low = range.low - std::log(per_turn);
        const double high = range.high - std::log(per_turn);
        const auto curve = [&](double ln_hz) { return function(at(sources_[loop], ln_hz)); };
        const double at_low = curve(low);
        const double at_high = curve(high);
        if (!std::isfinite(at_low) || !std::isfinite(at_high)) return std::nullopt;
        // The crossing is at an end, to the accuracy of T.
        if ((at_low > 0) == (at_high > 0)) {
            return std::abs(at_low) < std::abs(at_high) ? low : high;
        }
        std::uintmax_t most_steps = 100;
        const auto [a, b] = boost::math::tools::toms748_solve(
            curve, low, high, at_low, at_high,
            [](double x, double y) { return std::abs(x - y) < 1e-9; }, most_steps);
        return (a + b) / 2;
    }

    void add_crossover(std::size_t loop, const CrossingRange& range, LoopMargins& margins) {
        const auto ln_hz = zero_of(loop, range, ln_gain);
        if (!ln_hz) return;
        const Complex before = at(sources_[loop], range.low - std::log(per_turn));
        const Way way = ln_gain(before) > 0 ? Way::falls : Way::rises;
        LoopMargins found;
        found.phase_margin_deg = phase_margin_of(at(sources_[loop], *ln_hz), way, stable_);
        found.crossover_hz = std::exp(*ln_hz);
        keep_lesser(found, margins);
    }

    void add_phase_crossover(std::size_t loop, const CrossingRange& range, LoopMargins& margins) {
        const auto ln_hz = zero_of(loop, range, angle_beyond);
        if (!ln_hz) return;
        const Complex t = at(sources_[loop], *ln_hz);
        if (!(t.real() < 0 && std::abs(t) > smallest_loop_gain)) return;
        LoopMargins found;
        found.gain_margin_db = -db_from_ratio(std::abs(t));
        found.phase_crossover_hz = std::exp(*ln_hz);
        keep_lesser(found, margins);
    }

    Network& network_;
    bool stable_;
    const std::vector<double>& also_hz_;
    std::vector<LoopSource> sources_;
};

class LoopSourceLister {
  public:
    void add(const Element& element) {
        part_ = element.part;
        std::visit(*this, element.law);
    }

    void operator()(const Amplifier& e) {
        const int inner = e.x2 >= 0 ? e.x2 : e.x1;
        sources.push_back(
            {part_, AmplifierSource{e.current, inner, e.out, e.output_resistance_ohm}});
    }
    void operator()(const PreampStage& e) {
        if (e.integrator_f == 0) return;
        for (const std::size_t side : {0U, 1U}) {
            sources.push_back(
                {part_, AmplifierSource{e.integrators[side], e.buffer_currents[side], -1, 0}});
        }
    }
    /// With v(control) - v(common) and v(main) - v(common) as the variables of its current, the
    /// first has the slopes by both junctions' voltages.
    void operator()(const Transistor& e) {
        const double siemens = e.main_by_common + e.main_by_main;
        if (!(siemens > 0) || e.main == e.common || e.control == e.common) return;
        sources.push_back({part_, Transconductance{e.main, e.control, e.common, siemens}});
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

/// The right-hand side of the equations that shows a source's return ratio.
class TestDrive {
  public:
    explicit TestDrive(std::size_t unknowns) : drive_(unknowns) {}

    std::vector<Complex> operator()(const AmplifierSource& source) {
        drive_[static_cast<std::size_t>(source.equation)] = 1;
        return drive_;
    }

    /// A current of 1 into `main` out of `common`, beside the source.
    std::vector<Complex> operator()(const Transconductance& source) {
        inject(source.main, 1);
        inject(source.common, -1);
        return drive_;
    }

  private:
    void inject(int node, double value) {
        if (node > 0) drive_[static_cast<std::size_t>(node) - 1] = value;
    }

    std::vector<Complex> drive_;
};

/// The return ratio of a source by the answer to its test drive.
struct ReturnRatio {
    const std::vector<Complex>& answer;

    Complex operator()(const AmplifierSource& source) const {
        const Complex x = answer[static_cast<std::size_t>(source.answer)];
        if (source.out < 0) return -x / (x + 1.0);
        // The output branch gives the voltage of the source with the test source in series.
        const Complex out = node_voltage(answer, source.out);
        const Complex current = answer[static_cast<std::size_t>(source.equation)];
        return -x / (out + source.output_resistance_ohm * current);
    }

    /// The source answers with T / (1 + T) / gm.
    Complex operator()(const Transconductance& source) const {
        const Complex taken = source.siemens * (node_voltage(answer, source.control) -
                                                node_voltage(answer, source.common));
        return taken / (1.0 - taken);
    }
};

}  // namespace

std::vector<LoopSource> loop_sources(const Circuit& circuit) {
    LoopSourceLister lister;
    for (const Element& element : circuit.elements) lister.add(element);
    return std::move(lister.sources);
}

std::vector<Complex> return_ratios(Network& network, const LoopSource& source,
                                   std::span<const double> frequency_hz) {
    const std::vector<Complex> drive =
        std::visit(TestDrive(network.output_selection().size()), source.law);
    std::vector<Complex> ratios;
    ratios.reserve(frequency_hz.size());
    for (const std::vector<Complex>& answer : network.respond_to(drive, frequency_hz)) {
        ratios.push_back(std::visit(ReturnRatio{answer}, source.law));
    }
    return ratios;
}

Complex return_ratio(Network& network, const LoopSource& source, double frequency_hz) {
    return return_ratios(network, source, {&frequency_hz, 1}).front();
}

std::vector<LoopMargins> loop_margins(Network& network, bool stable,
                                      const std::vector<double>& also_hz) {
    return MarginFinder(network, stable, also_hz).find();
}

}  // namespace lowhiss
