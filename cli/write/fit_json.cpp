#include <nlohmann/json.hpp>

#include "lowhiss/fit/fit_result.hpp"
#include "write/fit_report.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

Json residual_json(const FitResidual& residual) {
    return {{"rms", residual.rms},
            {"worst", residual.worst},
            {"worst_frequency_hz", residual.worst_hz}};
}

void add_fit(const FittedCapsule& fitted, Json& document) {
    const DynamicCapsule& capsule = fitted.fit.capsule;
    Json resonances = Json::array();
    for (const Resonance& r : capsule.resonances) {
        resonances.push_back(
            {{"frequency_hz", r.frequency_hz}, {"q", r.q}, {"resistance_ohm", r.resistance_ohm}});
    }
    document["fit"] = "capsule";
    document["capsule"] = {{"name", fitted.name},
                           {"file", fitted.file},
                           {"coil_resistance_ohm", capsule.coil_resistance_ohm},
                           {"coil_inductance_h", capsule.coil_inductance_h},
                           {"resonances", std::move(resonances)}};
    document["points"] = fitted.fit.points.size();
    document["left_out"] = fitted.left_out;
    document["residual"] = residual_json(fitted.fit.residual);
}

void add_fit(const FittedNoise& fitted, Json& document) {
    const bool voltage = fitted.unit == Unit::volt_per_root_hertz;
    document["fit"] = "noise";
    document[voltage ? "voltage_noise_v_rthz" : "current_noise_a_rthz"] = fitted.fit.floor;
    document["corner_hz"] = fitted.fit.corner_hz;
    document["points"] = fitted.points.size();
    document["residual"] = residual_json(fitted.fit.residual);
}

void add_fit(const TaperFit& fit, Json& document) {
    document["fit"] = "taper";
    document["resistance_ohm"] = fit.resistance_ohm;
    document["end_resistance_ohm"] = fit.end_resistance_ohm;
    document["taper"] = fit.points;
}

}  // namespace

std::string fit_json(const Fitted& fitted) {
    Json document{{"format", "lowhiss-fit/1"}};
    std::visit([&](const auto& fit) { add_fit(fit, document); }, fitted);
    return json_text(document);
}

}  // namespace lowhiss::cli
