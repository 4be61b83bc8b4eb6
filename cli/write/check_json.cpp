#include "write/check_json.hpp"

#include <array>
#include <nlohmann/json.hpp>

#include "write/best_case_json.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

std::string_view state_word(Outcome outcome) {
    switch (outcome) {
        case Outcome::pass:
            return "met";
        case Outcome::fail:
            return "missed";
        case Outcome::not_computed:
            return "error";
        case Outcome::not_known:
            return "not known";
        case Outcome::accepted:
            return "accepted";
    }
    return "";
}

std::string_view state_word(FigureDrift::Kind kind) {
    static constexpr std::array<std::string_view, 5> words{"still", "moved", "missing", "obsolete",
                                                           "error"};
    return words[static_cast<std::size_t>(kind)];
}

std::string_view state_word(BaselineCheck::State state) {
    static constexpr std::array<std::string_view, 6> words{"aside",    "none",     "unusable",
                                                           "compared", "recorded", "unchanged"};
    return words[static_cast<std::size_t>(state)];
}

Json drift_json(const FigureDrift& drift, const BaselineCheck& baseline) {
    const StandardFigure* standard = drift.figure.figure;
    return {{"entry", drift.key},
            {"figure", standard ? Json(standard->name) : Json()},
            {"unit", standard ? Json(info(standard->measure->unit).symbol) : Json()},
            {"variant", text_or_null(drift.figure.variant)},
            {"capsule", text_or_null(drift.figure.capsule)},
            {"knob", drift.figure.knob},
            {"outcome", state_word(drift.kind)},
            {"fails", fails(drift, baseline)},
            {"value", drift.figure.value},
            {"before", text_or_null(drift.before)},
            {"after", text_or_null(drift.after)},
            {"moved_by", standard ? Json(drift.moved_by) : Json()},
            {"allowed", standard ? Json(drift.allowed.size) : Json()},
            {"relative", standard ? Json(drift.allowed.relative) : Json()},
            {"reason", text_or_null(drift.figure.trouble)}};
}

Json change_json(const BoardChange& change) {
    return {{"name", change.name},
            {"change", text_of(change.kind)},
            {"before", text_or_null(change.before)},
            {"after", text_or_null(change.after)}};
}

Json baseline_json(const BaselineCheck& baseline) {
    Json drifts = Json::array();
    for (const FigureDrift& drift : baseline.drifts) drifts.push_back(drift_json(drift, baseline));
    Json changes = Json::array();
    for (const BoardChange& change : baseline.changes) changes.push_back(change_json(change));
    Json ordered = Json::array();
    for (const OrderedChange& change : baseline.ordered_changes) {
        ordered.push_back({{"path", change.path}, {"what", change.what}});
    }
    return {{"state", state_word(baseline.state)},  {"path", text_or_null(baseline.path)},
            {"revision", baseline.revision},        {"error", text_or_null(baseline.trouble)},
            {"drift", std::move(drifts)},           {"changes", std::move(changes)},
            {"ordered_changes", std::move(ordered)}};
}

}  // namespace

Json verdict_json(const Verdict& v) {
    return {{"limit", v.limit},
            {"measure", v.measure},
            {"unit", info(v.unit).symbol},
            {"variant", text_or_null(v.variant)},
            {"capsule", text_or_null(v.capsule)},
            {"knob", v.knob},
            {"outcome", state_word(v.outcome)},
            {"value", v.value},
            {"at_hz", v.at_hz},
            {"min", v.min},
            {"max", v.max},
            {"margin", v.margin},
            {"reason", text_or_null(v.reason)},
            {"assumes_ideal", gaps_json(v.assumes_ideal)},
            {"look_at", v.look_at}};
}

std::string check_json(const std::vector<CheckedBoard>& boards) {
    Json list = Json::array();
    for (const CheckedBoard& board : boards) {
        Json verdicts = Json::array();
        for (const Verdict& v : board.verdicts) verdicts.push_back(verdict_json(v));
        list.push_back({{"path", board.path},
                        {"board", board.name},
                        {"revision", board.revision},
                        {"set", board.set},
                        {"error", text_or_null(board.trouble)},
                        {"verdicts", std::move(verdicts)},
                        {"baseline", baseline_json(board.baseline)}});
    }
    const Json document{{"format", "lowhiss-check/1"}, {"boards", std::move(list)}};
    return json_text(document);
}

}  // namespace lowhiss::cli
