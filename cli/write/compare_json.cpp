#include "write/compare_json.hpp"

#include <nlohmann/json.hpp>

#include "write/best_case_json.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

Json position_json(const std::string& name, const ComparedPosition& position) {
    Json figures = Json::object();
    for (const Figure& figure : position.figures) {
        figures[std::string(figure.figure->name)] = figure.value;
    }
    Json noise = Json::array();
    for (const InputNoise& part : position.noise) {
        noise.push_back({{"part", part.part}, {"input_v", part.input_v}, {"share", part.share}});
    }
    Json rolloff = Json::array();
    for (const PartRolloff& part : position.rolloff) {
        rolloff.push_back({{"part", part.part},
                           {"loss_db", part.rolloff.loss_db},
                           {"corner_hz", part.rolloff.corner_hz},
                           {"in_the_way", part.rolloff.in_the_way}});
    }
    return {{"at", name},
            {"reached", position.reached},
            {"nearest_db", position.nearest_db},
            {"position", position.rotation},
            {"figures", std::move(figures)},
            {"assumes_ideal", assumed_json(position.assumes_ideal)},
            {"noise_by_part", std::move(noise)},
            {"bass_rolloff", std::move(rolloff)}};
}

Json board_json(const ComparedBoard& board, const std::vector<std::string>& names) {
    Json positions = Json::array();
    for (std::size_t k = 0; k < names.size(); ++k) {
        positions.push_back(position_json(names[k], board.positions[k]));
    }
    Json changes = Json::array();
    for (const BoardChange& change : board.changes) {
        changes.push_back({{"name", change.name},
                           {"change", text_of(change.kind)},
                           {"before", text_or_null(change.before)},
                           {"after", text_or_null(change.after)}});
    }
    return {{"label", board.label},
            {"path", board.path},
            {"variant", text_or_null(board.variant)},
            {"capsule", text_or_null(board.capsule)},
            {"board", board.name},
            {"revision", board.revision},
            {"set", board.set},
            {"changes", std::move(changes)},
            {"positions", std::move(positions)}};
}

}  // namespace

std::string compare_json(const ComparisonReport& report) {
    Json boards = Json::array();
    for (const ComparedBoard& board : report.boards) {
        boards.push_back(board_json(board, report.positions));
    }
    const Json document{{"format", "lowhiss-compare/1"}, {"boards", std::move(boards)}};
    return json_text(document);
}

}  // namespace lowhiss::cli
