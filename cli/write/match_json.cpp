#include "write/match_json.hpp"

#include <nlohmann/json.hpp>

#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

Json place_json(const Position& at) {
    if (!at.source) return {};
    return {{"file", at.source->path}, {"line", at.line}, {"column", at.column}};
}

}  // namespace

std::string match_json(const MatchReport& report) {
    Json findings = Json::array();
    for (const ReportedFinding& each : report.findings) {
        findings.push_back({{"kind", finding_title(each.finding.kind)},
                            {"text", each.finding.text},
                            {"pins", each.finding.pins},
                            {"variants", each.variants},
                            {"drawn", place_json(each.finding.drawn)},
                            {"ordered", place_json(each.finding.ordered)}});
    }
    Json units = Json::array();
    for (const ExchangedUnit& unit : report.units) {
        units.push_back({{"file", unit.path},
                         {"device", unit.device},
                         {"part", unit.part},
                         {"drawn", unit.drawn},
                         {"ordered", unit.ordered}});
    }
    return json_text(
        {{"format", "lowhiss-match/1"},
         {"board", report.board},
         {"revision", text_or_null(report.revision)},
         {"set", report.set},
         {"path", report.path},
         {"agrees", report.findings.empty()},
         {"compared", {{"parts", report.parts}, {"pins", report.pins}, {"nodes", report.nodes}}},
         {"findings", std::move(findings)},
         {"exchanged_units", std::move(units)},
         {"not_compared", report.not_compared},
         {"notes", report.notes}});
}

}  // namespace lowhiss::cli
