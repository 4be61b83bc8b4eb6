#include <nlohmann/json.hpp>

#include "write/best_case_json.hpp"
#include "write/check_json.hpp"
#include "write/choose_report.hpp"
#include "write/json.hpp"
#include "write/tolerance_json.hpp"

namespace lowhiss::cli {
namespace {

Json values_json(const Choose& choose, const ValueSet& values) {
    Json parts = Json::object();
    for (std::size_t k = 0; k < values.size(); ++k) {
        for (const OpenValue::Member& member : choose.open[k].parts) {
            parts[member.part] = choose.open[k].values[values[k]];
        }
    }
    return parts;
}

Json set_json(const Choose& choose, const ChosenSet& set) {
    Json verdicts = Json::array();
    for (const Verdict& v : set.verdicts.limits) verdicts.push_back(verdict_json(v));
    const bool centred = choose.aim == Choose::Aim::centred;
    return {{"values", set.values.empty() ? Json() : values_json(choose, set.values)},
            {"aim", centred ? Json(set.verdicts.room) : Json(set.verdicts.figure.value)},
            {"good", set.verdicts.good()},
            {"verdicts", std::move(verdicts)}};
}

void add_position(const ComparedPosition& position, Json& set) {
    Json figures = Json::object();
    for (const Figure& figure : position.figures) {
        figures[std::string(figure.figure->name)] = figure.value;
    }
    Json noise = Json::array();
    for (const InputNoise& part : position.noise) {
        noise.push_back({{"part", part.part}, {"input_v", part.input_v}, {"share", part.share}});
    }
    set["figures"] = std::move(figures);
    set["noise_by_part"] = std::move(noise);
}

}  // namespace

std::string choose_json(const ChooseReport& report) {
    const Choose& choose = *report.board->choose;
    const Chosen& chosen = report.chosen;
    const auto full = [&](const ChosenSet& set, std::size_t row) {
        Json json = set_json(choose, set);
        if (row < report.positions.size()) add_position(report.positions[row], json);
        if (row < report.yields.size()) json["yield"] = yield_json(report.yields[row]);
        return json;
    };
    Json best = Json::array();
    for (std::size_t k = 0; k < chosen.best.size(); ++k)
        best.push_back(full(chosen.best[k], k + 1));
    Json near = Json::array();
    for (const ChosenSet& set : chosen.near) near.push_back(set_json(choose, set));
    Json counts = Json::array();
    for (const LimitCount& count : chosen.counts) {
        counts.push_back({{"limit", count.limit}, {"meet", count.meet}, {"tried", count.tried}});
    }
    Json search;
    if (!chosen.complete) {
        search = {{"seed", report.request.seed},
                  {"starts", chosen.starts},
                  {"reached_best", chosen.reached}};
    }
    const Json document{{"format", "lowhiss-choose/1"},
                        {"board", report.board->name},
                        {"revision", report.board->revision},
                        {"set", report.board->set},
                        {"variant", text_or_null(report.variant)},
                        {"knob", report.knob},
                        {"aim", aim_text(choose)},
                        {"sets", chosen.sets},
                        {"complete", chosen.complete && !chosen.stopped},
                        {"interrupted", chosen.stopped},
                        {"search", std::move(search)},
                        {"computed", chosen.tried},
                        {"meet_all", chosen.fit},
                        {"refused", chosen.refused},
                        {"limits", std::move(counts)},
                        {"drawn", full(chosen.drawn, 0)},
                        {"best", std::move(best)},
                        {"nearest", std::move(near)}};
    return json_text(document);
}

}  // namespace lowhiss::cli
