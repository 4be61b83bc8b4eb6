#include "lowhiss/measure/standard_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/board/limit.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

StandardFigure of(std::string_view measure) {
    return {measure, find_measure(measure), {}};
}

StandardFigure of(std::string_view measure, double at_hz, std::string_view name) {
    StandardFigure figure{name, find_measure(measure), {}};
    figure.arguments.at_hz = at_hz;
    return figure;
}

StandardFigure slow(StandardFigure figure) {
    figure.slow = true;
    return figure;
}

std::vector<StandardFigure> make_figures() {
    return {of("gain"),
            of("gain", 20, "gain_20hz"),
            of("gain", 20000, "gain_20khz"),
            of("low_corner"),
            of("high_corner"),
            of("polarity"),
            of("input_impedance"),
            of("output_impedance"),
            of("capsule_effect"),
            of("capsule_effect_spread"),
            of("output_noise"),
            of("ein"),
            of("ein_a"),
            of("ein_468"),
            of("noise_figure"),
            of("capsule_noise_rise"),
            of("max_input"),
            of("self_noise"),
            of("common_mode_rejection"),
            slow(of("output_offset")),
            slow(of("phase_margin")),
            of("gain_range"),
            of("gain_step")};
}

Figure take(const StandardFigure& standard, Assembly& assembly, double rotation) {
    const bool turned = assembly.board().knob && standard.measure->at_setting != nullptr;
    Figure figure{assembly.variant(),
                  assembly.capsule_name(),
                  turned ? rotation : unset,
                  &standard,
                  unset,
                  "",
                  false};
    try {
        figure.value = value_of(*standard.measure, standard.arguments, assembly, rotation).value;
    } catch (const Error& error) {
        figure.trouble = error.what();
        figure.no_solution = error.kind() == Error::Kind::no_unique_solution;
    }
    return figure;
}

/// 1, 2 or 5 times a power of ten.
struct Step {
    int digit = 0;  ///< 0: no step
    int exponent = 0;

    double size() const { return digit * std::pow(10.0, exponent); }
    bool operator<(const Step& other) const { return size() < other.size(); }
};

/// The largest step that is no larger than `most`.
Step step_below(double most) {
    if (!(most > 0) || !std::isfinite(most)) return {};
    constexpr double slack = 1e-9;  // for the rounding of the division by ten
    const double exponent = std::floor(std::log10(most) + slack);
    const double lead = most / std::pow(10.0, exponent) * (1 + slack);
    return {lead >= 5 ? 5 : lead >= 2 ? 2 : 1, static_cast<int>(exponent)};
}

/// The nearest multiple of the step; never a negative zero.
double rounded_to(const Step& step, double value) {
    if (step.digit == 0) return value;
    const double rounded = std::round(value / step.size()) * step.size();
    return rounded == 0 ? 0.0 : rounded;
}

/// A comma in a name is escaped, for commas separate the names of a key.
std::string escaped(const std::string& name) {
    std::string text;
    for (const char letter : name) {
        if (letter == ',' || letter == '\\') text += '\\';
        text += letter;
    }
    return text;
}

}  // namespace

std::span<const StandardFigure> standard_figures() {
    static const std::vector<StandardFigure> figures = make_figures();
    return figures;
}

std::vector<Figure> take_figures(Assembly& assembly, double rotation, bool slow_ones) {
    std::vector<Figure> figures;
    for (const StandardFigure& standard : standard_figures()) {
        if (!standard.measure->at_setting || (standard.slow && !slow_ones)) continue;
        figures.push_back(take(standard, assembly, rotation));
    }
    return figures;
}

std::vector<Figure> take_figures_over_knob(Assembly& assembly) {
    std::vector<Figure> figures;
    for (const StandardFigure& standard : standard_figures()) {
        if (standard.measure->over_knob && assembly.board().knob) {
            figures.push_back(take(standard, assembly, unset));
        }
    }
    return figures;
}

std::string key_of(const Figure& figure) {
    std::string key = figure.variant.empty() ? std::string(plain_variant) : escaped(figure.variant);
    key += ", " + (figure.capsule.empty() ? "no capsule" : escaped(figure.capsule));
    if (!std::isnan(figure.knob)) key += fmt::format(", knob {}", figure.knob);
    return key + fmt::format(", {}", figure.figure->name);
}

std::string recorded_text(const Figure& figure, const Drift& allowed) {
    if (!std::isfinite(figure.value)) return "none";
    const Unit unit = figure.figure->measure->unit;
    const double allowance = allowed.size * (allowed.relative ? std::abs(figure.value) : 1);
    if (!by_difference(unit) || unit == Unit::fraction || unit == Unit::polarity) {
        return print_quantity(rounded_to(step_below(allowance / 10), figure.value), unit, 6);
    }
    constexpr int most_decimals = 4;
    const Step step = std::max(step_below(allowance / 10), Step{1, -most_decimals});
    return fmt::format("{:.{}f} {}", rounded_to(step, figure.value), std::max(0, -step.exponent),
                       info(unit).symbol);
}

}  // namespace lowhiss
