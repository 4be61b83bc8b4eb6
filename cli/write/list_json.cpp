#include <nlohmann/json.hpp>

#include <cmath>

#include "lowhiss/quantity/constants.hpp"
#include "write/json.hpp"
#include "write/list_report.hpp"

namespace lowhiss::cli {
namespace {

/// The symbol of the SI unit that the values are in; tables write V/us for V/s.
std::string_view symbol_in_json(Unit unit) {
    if (unit == Unit::volt_per_second) return "V/s";
    return info(unit).symbol;
}

Json model_json(const ListedKind& kind, const ListedModel& listed) {
    const LibraryModel& model = listed.model;
    Json figures = Json::object();
    for (const ModelFigure& figure : model.figures) {
        if (std::isnan(figure.value)) continue;
        figures[std::string(figure.key)] = {
            {"value", std::isinf(figure.value) ? Json("ideal") : Json(figure.value)},
            {"unit", symbol_in_json(figure.unit)}};
    }
    Json row{{"name", model.name},
             {"table", model.table},
             {"library", model.library},
             {"kind", text_or_null(model.word)}};
    if (kind.with_noise) row["noise_with_source_v_rthz"] = listed.noise_v_rthz;
    row["figures"] = std::move(figures);
    row["source"] = text_or_null(model.source);
    return row;
}

}  // namespace

std::string list_json(const ModelList& list) {
    Json document{{"format", "lowhiss-list/1"}};
    if (list.use) {
        document["for"] = {{"source_ohm", list.use->source_ohm},
                           {"frequency_hz", reference_hz},
                           {"temperature_k", list.use->temperature_k},
                           {"gain", list.use->gain},
                           {"current_a", list.use->current_a}};
    }
    for (const ListedKind& kind : list.kinds) {
        Json rows = Json::array();
        for (const ListedModel& listed : kind.models) rows.push_back(model_json(kind, listed));
        document[kind.name] = std::move(rows);
    }
    return json_text(document);
}

}  // namespace lowhiss::cli
