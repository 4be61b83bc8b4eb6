#include "lowhiss/measure/source_noise.hpp"

#include <algorithm>
#include <array>
#include <boost/math/tools/minima.hpp>
#include <cmath>

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

Capsule resistive(double source_ohm) {
    Capsule source;
    source.impedance = ResistiveCapsule{source_ohm};
    return source;
}

/// Settings with resistances in place of the capsule, which share a plan.
class Sources {
  public:
    explicit Sources(Setting& setting) : setting_(setting) {}

    /// Unset where the circuit has no solution with this source.
    double noise_figure_db(const Band& band, double source_ohm) {
        return found_or_unset([&] {
            const Capsule source = resistive(source_ohm);
            Setting with_source(setting_.board(), &source, setting_.angle(), plans());
            keep_plan_of(with_source);
            return lowhiss::noise_figure_db(with_source, band);
        });
    }

    /// The power that the board adds to that of the source's voltage; 0 ohm is an ideal source.
    double added_v2_hz(double frequency_hz, double source_ohm) {
        return found_or_unset([&] {
            const Capsule source = resistive(source_ohm);
            const bool ideal = source_ohm == 0;
            Setting with_source(setting_.board(), ideal ? nullptr : &source, setting_.angle(),
                                ideal ? ideal_plans() : plans());
            if (!ideal) keep_plan_of(with_source);
            const Response& response = with_source.at(frequency_hz);
            const auto& groups = with_source.circuit().noise_groups;
            double output_v2_hz = 0;
            for (std::size_t k = 0; k < groups.size(); ++k) {
                if (groups[k].part != capsule_part) output_v2_hz += response.noise_v2_hz[k];
            }
            return or_unset(output_v2_hz / std::norm(response.gain));
        });
    }

  private:
    /// Planned with one usual source, so that no figure depends on which source is solved first. If
    /// that source has no solution, the next one that has makes the plan.
    Plans plans() {
        Plans known = setting_.plans();
        if (!known.resistive) {
            constexpr double usual_ohm = 1e3;
            const Capsule source = resistive(usual_ohm);
            try {
                Setting with_source(setting_.board(), &source, setting_.angle());
                known.resistive = with_source.network().plan();
            } catch (const Error&) {
                return {};
            }
            setting_.use(known);
        }
        return {.real = known.resistive};
    }

    /// A plan of another board, which the setting may have been given, need not fit this one.
    void keep_plan_of(Setting& with_source) {
        Plans known = setting_.plans();
        known.resistive = with_source.network().plan();
        setting_.use(known);
    }

    /// Without a source the circuit is the ideal one, if its capsule has no electronics of its own.
    Plans ideal_plans() { return {.real = setting_.network(CircuitKind::ideal).plan()}; }

    Setting& setting_;
};

constexpr double least_ohm = 0.1;
constexpr double most_ohm = 1e10;

/// The part of the board's noise that depends on the resistance R of a source: R^2 in^2 + 2 R Re c.
struct Fit {
    double current_a2_hz;
    double product_v2_hz_ohm;  ///< Re c
};

/// From R and 4 R; most accurate where both terms count about as much as the voltage's.
Fit fit_at(Sources& sources, double frequency_hz, double voltage_v2_hz, double ohm) {
    const double one = sources.added_v2_hz(frequency_hz, ohm) - voltage_v2_hz;
    const double four = sources.added_v2_hz(frequency_hz, 4 * ohm) - voltage_v2_hz;
    return {(four - 4 * one) / (12 * ohm * ohm), (16 * one - four) / (24 * ohm)};
}

}  // namespace

InputNoiseSources input_noise_sources(Setting& setting, double frequency_hz) {
    constexpr int most_steps = 8;
    constexpr double hidden_part = 1e-9;
    Sources sources(setting);
    const double voltage_v2_hz = sources.added_v2_hz(frequency_hz, 0);
    double ohm = 1e3;
    Fit fit{unset, unset};
    for (int step = 0; step < most_steps; ++step) {
        fit = fit_at(sources, frequency_hz, voltage_v2_hz, ohm);
        if (std::isnan(fit.current_a2_hz)) return {unset, unset, unset};
        const bool hidden = fit.current_a2_hz * ohm * ohm <= hidden_part * voltage_v2_hz;
        const double next = std::clamp(
            hidden ? ohm * 1e3 : std::sqrt(voltage_v2_hz / fit.current_a2_hz), least_ohm, most_ohm);
        if (std::abs(std::log(next / ohm)) < 1) break;
        ohm = next;
    }
    if (fit.current_a2_hz * ohm * ohm <= hidden_part * voltage_v2_hz) fit.current_a2_hz = 0;
    const double voltage = std::sqrt(voltage_v2_hz);
    const double current = std::sqrt(fit.current_a2_hz);
    const double correlation = fit.product_v2_hz_ohm / (voltage * current);
    return {voltage, current,
            current > 0 && voltage > 0 ? std::clamp(correlation, -1.0, 1.0) : unset};
}

double noise_figure_at_db(Setting& setting, const Band& band, double source_ohm) {
    return Sources(setting).noise_figure_db(band, source_ohm);
}

BestSource best_source(Setting& setting, const Band& band) {
    Sources sources(setting);
    const auto figure_db = [&](double log_ohm) {
        const double db = sources.noise_figure_db(band, std::pow(10, log_ohm));
        if (std::isnan(db)) return infinite;
        return db;
    };
    const double first = std::log10(least_ohm);
    const int decades = static_cast<int>(std::lround(std::log10(most_ohm / least_ohm)));
    std::vector<double> figures_db;
    for (int k = 0; k <= decades; ++k) figures_db.push_back(figure_db(first + k));
    const auto least = std::min_element(figures_db.begin(), figures_db.end());
    const auto place = static_cast<int>(least - figures_db.begin());
    if (place == 0 || place == decades || !std::isfinite(*least)) return {unset, unset};
    constexpr int settled_bits = 24;
    const auto [log_ohm, db] = boost::math::tools::brent_find_minima(
        figure_db, first + place - 1, first + place + 1, settled_bits);
    return {std::pow(10, log_ohm), db};
}

SourceNoise source_noise(Setting& setting, const Band& band) {
    // From a ribbon to a small electret; common practice, no source.
    constexpr std::array usual_ohm{50.0, 200.0, 600.0, 10e3};
    SourceNoise result{setting.input_noise(reference_hz), setting.best_source(band), {}};
    Sources sources(setting);
    for (const double ohm : usual_ohm) {
        result.noise_figure_db.emplace_back(ohm, sources.noise_figure_db(band, ohm));
    }
    return result;
}

}  // namespace lowhiss
