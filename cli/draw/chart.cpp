#include "draw/chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "write/knob_positions.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_areas = 7;
constexpr std::ptrdiff_t most_told = 3;  ///< parts that a page names at one frequency
constexpr double nano = 1e9;

std::vector<double> scaled(std::vector<double> values, double factor) {
    for (double& value : values) value *= factor;
    return values;
}

std::string rotation_name(double position) {
    return std::isnan(position) ? "" : fmt::format("{:.4g} %", 100 * position);
}

Chart knob_chart(const Sweep& sweep, const SweepRun& run, std::string title, std::string y_label,
                 std::vector<double> KnobResult::*curve, double factor = 1, bool log_y = false) {
    Chart chart{std::move(title), std::move(y_label), log_y, sweep.frequency_hz, {}};
    chart.by_knob = std::isfinite(run.knob.front().position);
    for (const KnobResult& knob : run.knob) {
        chart.curves.push_back({knob_name(knob.position),
                                Curve::Kind::line,
                                scaled(knob.*curve, factor),
                                {},
                                rotation_name(knob.position)});
    }
    return chart;
}

using PartShares = std::vector<std::pair<std::string, std::vector<double>>>;

/// A part's share of the output noise power at each frequency, largest parts first.
PartShares shares_by_part(const KnobResult& knob) {
    PartShares parts;
    std::vector<double> total(knob.gain_db.size());
    for (const NoiseShare& share : knob.noise_by_part) {
        auto part = std::find_if(parts.begin(), parts.end(),
                                 [&](const auto& each) { return each.first == share.part; });
        if (part == parts.end()) {
            part = parts.insert(parts.end(), {share.part, std::vector<double>(total.size())});
        }
        for (std::size_t k = 0; k < total.size(); ++k) {
            const double density = share.output_v_rthz[k];
            const double power = std::isnan(density) ? 0 : density * density;
            part->second[k] += power;
            total[k] += power;
        }
    }
    for (auto& [name, values] : parts) {
        for (std::size_t k = 0; k < total.size(); ++k) values[k] *= 100 / total[k];
    }
    return parts;
}

/// Keeps the parts that are among the largest at some frequency: a part of small noise in the whole
/// band, which has no area of its own, may be the noisiest at 10 Hz.
PartShares large_somewhere(const PartShares& parts) {
    PartShares found;
    for (std::size_t part = most_areas; part < parts.size(); ++part) {
        const std::vector<double>& share = parts[part].second;
        for (std::size_t k = 0; k < share.size(); ++k) {
            const auto larger = std::count_if(parts.begin(), parts.end(), [&](const auto& other) {
                return other.second[k] > share[k];
            });
            if (!(share[k] > 0) || larger >= most_told) continue;
            found.push_back(parts[part]);
            break;
        }
    }
    return found;
}

/// Stacked from the bottom; all but the largest parts are one area.
Chart noise_by_part(const Sweep& sweep, const KnobResult& knob) {
    const std::string at = std::isnan(knob.position) ? "" : ", " + knob_name(knob.position);
    Chart chart{
        "Noise by part" + at, "share of output noise power, %", false, sweep.frequency_hz, {}};
    const auto parts = shares_by_part(knob);
    std::vector<double> edge(sweep.frequency_hz.size());
    for (std::size_t k = 0; k < parts.size(); ++k) {
        const bool rest = k >= most_areas;
        if (rest && k > most_areas) continue;
        std::vector<double> top = edge;
        for (std::size_t i = 0; i < top.size(); ++i) {
            top[i] = rest ? 100 : top[i] + parts[k].second[i];
        }
        chart.curves.push_back({rest ? "others" : parts[k].first, Curve::Kind::area, top, edge});
        chart.curves.back().rest = rest;
        edge = std::move(top);
    }
    chart.breakdown = Breakdown{knob_name(knob.position), "nV/√Hz", "at the input",
                                scaled(knob.input_noise_v_rthz, nano), large_somewhere(parts)};
    return chart;
}

}  // namespace

std::string knob_name(double position) {
    return std::isnan(position) ? "" : "knob " + rotation_name(position);
}

ChartSheet sheet_of(const Sweep& sweep, const SweepRun& run) {
    ChartSheet sheet{assembly_title(sweep.board, sweep.revision, run.variant, run.capsule), {}};
    sheet.charts.push_back(knob_chart(sweep, run, "Response", "gain, dB", &KnobResult::gain_db));
    sheet.charts.back().in_text = true;
    sheet.charts.push_back(knob_chart(sweep, run, "Phase", "phase, °", &KnobResult::phase_deg));
    sheet.charts.push_back(knob_chart(sweep, run, "Noise referred to the input",
                                      "noise density, nV/√Hz", &KnobResult::input_noise_v_rthz,
                                      nano, true));
    sheet.charts.back().in_text = true;
    if (!loudest(run).noise_by_part.empty()) {
        sheet.charts.push_back(noise_by_part(sweep, loudest(run)));
    }
    if (!run.capsule.empty()) {
        sheet.charts.push_back(knob_chart(sweep, run, "Effect of the capsule's impedance",
                                          "change of level, dB", &KnobResult::capsule_effect_db));
    }
    return sheet;
}

ChartSheet sheet_of_runs(const std::string& title, const std::vector<double>& frequency_hz,
                         const std::vector<std::pair<std::string, const KnobResult*>>& runs) {
    Chart gain{"Response", "gain, dB", false, frequency_hz, {}};
    Chart noise{"Noise referred to the input", "noise density, nV/√Hz", true, frequency_hz, {}};
    gain.in_text = noise.in_text = true;
    for (const auto& [name, knob] : runs) {
        gain.curves.push_back({name, Curve::Kind::line, knob->gain_db, {}});
        noise.curves.push_back(
            {name, Curve::Kind::line, scaled(knob->input_noise_v_rthz, nano), {}});
    }
    return {title, {std::move(gain), std::move(noise)}};
}

ChartSheet sheet_at_most_gain(const std::string& title, const std::vector<double>& frequency_hz,
                              const std::vector<std::pair<std::string, const SweepRun*>>& runs) {
    const double position = loudest(*runs.front().second).position;
    const bool same = std::all_of(runs.begin(), runs.end(), [&](const auto& run) {
        const double other = loudest(*run.second).position;
        return other == position || (std::isnan(other) && std::isnan(position));
    });
    std::vector<std::pair<std::string, const KnobResult*>> curves;
    for (const auto& [name, run] : runs) {
        const KnobResult& knob = loudest(*run);
        curves.emplace_back(same ? name : name + ", " + knob_name(knob.position), &knob);
    }
    const bool named = same && !std::isnan(position);
    return sheet_of_runs(named ? title + ", " + knob_name(position) : title, frequency_hz, curves);
}

void add_bounds(const std::vector<Limit>& limits, const std::string& variant, Chart& gain) {
    const auto applies = [&](const Limit& limit) {
        const std::string_view name = variant.empty() ? plain_variant : std::string_view(variant);
        return limit.variants.empty() || std::find(limit.variants.begin(), limit.variants.end(),
                                                   name) != limit.variants.end();
    };
    for (const Limit& limit : limits) {
        if (limit.measure->name != "gain" || !applies(limit)) continue;
        for (const bool upper : {false, true}) {
            Curve bound{limit.name + (upper ? ", at most" : ", at least"),
                        Curve::Kind::bound,
                        std::vector<double>(gain.frequency_hz.size(), unset),
                        {}};
            for (std::size_t k = 0; k < gain.frequency_hz.size(); ++k) {
                const double f_hz = gain.frequency_hz[k];
                if (limit.mask.empty()) {
                    // A bound at one frequency is drawn a third of an octave wide.
                    const bool near = std::abs(std::log2(f_hz / limit.arguments.at_hz)) < 1.0 / 6;
                    if (near) bound.y[k] = upper ? limit.max : limit.min;
                    continue;
                }
                for (std::size_t i = 1; i < limit.mask.size(); ++i) {
                    const MaskPoint& low = limit.mask[i - 1];
                    const MaskPoint& high = limit.mask[i];
                    if (f_hz < low.frequency_hz || f_hz > high.frequency_hz) continue;
                    const double along = std::log(f_hz / low.frequency_hz) /
                                         std::log(high.frequency_hz / low.frequency_hz);
                    bound.y[k] = upper ? std::lerp(low.max, high.max, along)
                                       : std::lerp(low.min, high.min, along);
                }
            }
            const bool any = std::any_of(bound.y.begin(), bound.y.end(),
                                         [](double y) { return std::isfinite(y); });
            if (any) gain.curves.push_back(std::move(bound));
        }
    }
}

ChartSheet sheet_of(const std::string& title, const Envelope& envelope) {
    Chart chart{"Response of all boards", "gain, dB", false, envelope.frequency_hz, {}};
    const std::size_t count = envelope.frequency_hz.size();
    const auto part = [&](const std::vector<double>& values, std::size_t knob) {
        const auto begin = values.begin() + static_cast<std::ptrdiff_t>(knob * count);
        return std::vector<double>(begin, begin + static_cast<std::ptrdiff_t>(count));
    };
    chart.by_knob = !envelope.knob.empty() && std::isfinite(envelope.knob.front());
    for (std::size_t knob = 0; knob < envelope.knob.size(); ++knob) {
        const std::string name = knob_name(envelope.knob[knob]);
        chart.curves.push_back({name.empty() ? "all boards" : name + ", all boards",
                                Curve::Kind::band, part(envelope.most_db, knob),
                                part(envelope.least_db, knob)});
        chart.curves.push_back({name.empty() ? "as drawn" : name + ", as drawn",
                                Curve::Kind::line,
                                part(envelope.nominal_db, knob),
                                {}});
    }
    return {title, {std::move(chart)}};
}

}  // namespace lowhiss::cli
