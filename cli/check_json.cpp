#include <nlohmann/json.hpp>

#include "check.hpp"

namespace lowhiss::cli {
namespace {

using Json = nlohmann::ordered_json;

Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}

std::string_view word(Outcome outcome) {
    switch (outcome) {
        case Outcome::met:
            return "met";
        case Outcome::missed:
            return "missed";
        case Outcome::not_computed:
            return "error";
    }
    return "";
}

Json verdict_json(const Verdict& v) {
    return {{"limit", v.limit},
            {"measure", v.measure},
            {"unit", info(v.unit).symbol},
            {"variant", text_or_null(v.variant)},
            {"capsule", text_or_null(v.capsule)},
            {"knob", v.knob},
            {"outcome", word(v.outcome)},
            {"value", v.value},
            {"at_hz", v.at_hz},
            {"min", v.min},
            {"max", v.max},
            {"margin", v.margin},
            {"reason", text_or_null(v.reason)},
            {"look_at", v.look_at}};
}

}  // namespace

std::string check_json(const std::vector<CheckedBoard>& boards) {
    Json list = Json::array();
    for (const CheckedBoard& board : boards) {
        Json verdicts = Json::array();
        for (const Verdict& v : board.verdicts) verdicts.push_back(verdict_json(v));
        list.push_back({{"path", board.path},
                        {"board", board.name},
                        {"revision", board.revision},
                        {"error", text_or_null(board.trouble)},
                        {"verdicts", std::move(verdicts)}});
    }
    const Json document{{"format", "lowhiss-check/1"}, {"boards", std::move(list)}};
    return document.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lowhiss::cli
