#include <fmt/format.h>

#include <cmath>

#include "lowhiss/fit/fit_result.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/document.hpp"
#include "write/fit_report.hpp"

namespace lowhiss::cli {
namespace {

constexpr int fitted_digits = 4;

std::string in_file(double value, Unit unit) {
    return toml_text(print_quantity(value, unit, fitted_digits));
}

std::string residual_words(const FitResidual& residual, std::string_view of) {
    return fmt::format("Residual: {:.2g} % rms of {}, worst {:.2g} % at {}.\n", 100 * residual.rms,
                       of, 100 * residual.worst, print_quantity(residual.worst_hz, Unit::hertz, 3));
}

std::string words(const FittedCapsule& fitted) {
    const CapsuleFit& fit = fitted.fit;
    std::string text = fmt::format("Fitted to {} points of {} from {} to {}", fit.points.size(),
                                   quote(fitted.file),
                                   print_quantity(fit.points.front().frequency_hz, Unit::hertz, 3),
                                   print_quantity(fit.points.back().frequency_hz, Unit::hertz, 3));
    text += fitted.left_out == 0
                ? ".\n"
                : fmt::format("; {} outside the band left out.\n", fitted.left_out);
    text += residual_words(fit.residual, "the impedance");
    if (fit.capsule.coil_inductance_h == 0) {
        text += "No inductance is given: it would change the impedance by less than 0.1 %.\n";
    }
    return text;
}

std::string words(const FittedNoise& fitted) {
    if (fitted.points.size() == 2) return "Exact for the two points.\n";
    return residual_words(fitted.fit.residual, "the density");
}

std::string words(const TaperFit&) {
    return "";
}

std::string toml(const FittedCapsule& fitted) {
    const DynamicCapsule& capsule = fitted.fit.capsule;
    std::string text = fmt::format(
        "[capsule.{}]\nsource          = {}\nkind            = \"dynamic\"\n"
        "coil_resistance = {}\n",
        toml_key(fitted.name), toml_text("fitted to " + fitted.file),
        in_file(capsule.coil_resistance_ohm, Unit::ohm));
    if (capsule.coil_inductance_h > 0) {
        text +=
            fmt::format("coil_inductance = {}\n", in_file(capsule.coil_inductance_h, Unit::henry));
    }
    if (capsule.resonances.empty()) return text;
    text += "resonances      = [\n";
    for (const Resonance& r : capsule.resonances) {
        text += fmt::format("    {{ frequency = {}, q = {:.4g}, resistance = {} }},\n",
                            in_file(r.frequency_hz, Unit::hertz), r.q,
                            in_file(r.resistance_ohm, Unit::ohm));
    }
    return text + "]\n";
}

std::string toml(const FittedNoise& fitted) {
    const char* key = fitted.unit == Unit::volt_per_root_hertz ? "voltage_noise" : "current_noise";
    return fmt::format("{0} = {1}\n{0}_corner = {2}\n", key, in_file(fitted.fit.floor, fitted.unit),
                       in_file(fitted.fit.corner_hz, Unit::hertz));
}

/// The keys of a potentiometer.
std::string toml(const TaperFit& fit) {
    std::string text;
    if (!std::isnan(fit.resistance_ohm)) {
        text += fmt::format("potentiometer = {}\nend_resistance = {}\n",
                            in_file(fit.resistance_ohm, Unit::ohm),
                            in_file(fit.end_resistance_ohm, Unit::ohm));
    }
    text += "taper = [";
    for (const auto& [rotation, fraction] : fit.points) {
        text += fmt::format("{}[{}, {}]", text.ends_with('[') ? "" : ", ", rotation, fraction);
    }
    return text + "]\n";
}

}  // namespace

std::string fit_words(const Fitted& fitted) {
    return std::visit([](const auto& fit) { return words(fit); }, fitted);
}

std::string fit_toml(const Fitted& fitted) {
    std::string comments = fit_words(fitted);
    for (std::size_t at = 0; at < comments.size(); at = comments.find('\n', at) + 1) {
        comments.insert(at, "# ");
    }
    return comments + std::visit([](const auto& fit) { return toml(fit); }, fitted);
}

}  // namespace lowhiss::cli
