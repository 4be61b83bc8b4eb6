#include "write/tolerance_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "write/ends_json.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

Json statistics_json(const Statistics& s) {
    return {{"nominal", s.nominal},
            {"boards", s.count},
            {"mean", s.mean},
            {"sigma", s.sigma},
            {"min", s.min},
            {"percentile_1", s.percentile_1},
            {"median", s.median},
            {"percentile_99", s.percentile_99},
            {"max", s.max},
            {"board_of_min", s.board_of_min},
            {"board_of_max", s.board_of_max}};
}

/// The unit of a figure's change per 1 % of a part's value.
std::string_view slope_unit(Unit unit) {
    if (unit == Unit::degree) return "deg";
    if (unit == Unit::second) return "s";
    if (unit == Unit::fraction) return "1";
    return unit == Unit::hertz || unit == Unit::ohm ? "%" : "dB";
}

std::string_view kind_text(DrawKind kind) {
    switch (kind) {
        case DrawKind::part:
            return "part";
        case DrawKind::group:
            return "matched group";
        case DrawKind::temperature:
            return "temperature";
        case DrawKind::temperature_coefficient:
            return "temperature coefficient";
        case DrawKind::group_temperature_coefficient:
            return "temperature coefficient of a matched group";
        case DrawKind::model:
            return "model figure";
        case DrawKind::spread:
            return "model spread";
    }
    return "";
}

Json effects_json(const LimitSpread& limit) {
    Json effects = Json::array();
    for (const PartEffect& effect : limit.parts.effects) {
        const Draw& draw = effect.draw;
        effects.push_back({{"part", text_of(draw)},
                           {"kind", kind_text(draw.kind)},
                           {"range", {draw.low, draw.high}},
                           {"per_percent", effect.per_percent},
                           {"at_low_end", effect.at_low_end},
                           {"at_high_end", effect.at_high_end},
                           {"share_of_variance", limit.shares.shares[effects.size()]}});
    }
    return effects;
}

Json variance_json(const LimitSpread& limit) {
    const VarianceShares& shares = limit.shares;
    Json together = Json::array();
    for (const std::size_t k : shares.together) {
        together.push_back(text_of(limit.parts.effects[k].draw));
    }
    const bool by_exchange = shares.method == VarianceShares::Method::exchange;
    return {{"shares_by", by_exchange ? "exchange" : "effects"},
            {"explained_by_effects", shares.explained},
            {"together", std::move(together)},
            {"together_share", shares.together_share},
            {"boards_solved", shares.boards_solved}};
}

Json found_json(const FoundWorst& found, const FoundEnd& end) {
    return {{"value", end.value},
            {"margin", end.margin},
            {"board", end.board ? Json(*end.board) : Json()},
            {"ends", end.ends.empty() ? Json() : ends_json(found.draws, end.ends)},
            {"corners_tried", end.corners_tried},
            {"settled", end.settled}};
}

Json worst_json(const LimitSpread& limit) {
    const FoundWorst& found = limit.found;
    if (limit.nominal.is_mask) return {{"least_margin", found_json(found, found.lowest)}};
    return {{"lowest", found_json(found, found.lowest)},
            {"highest", found_json(found, found.highest)}};
}

Json room_json(const Room& room) {
    return {{"failing", room.failing},    {"margin_mean", room.mean},
            {"margin_sigma", room.sigma}, {"margin_percentile_1", room.percentile_1},
            {"sigmas", room.sigmas()},    {"depth", room.depth}};
}

Json limit_json(const LimitSpread& limit) {
    const Verdict& v = limit.nominal;
    return {{"limit", v.limit},
            {"measure", v.measure},
            {"unit", info(v.unit).symbol},
            {"variant", text_or_null(v.variant)},
            {"capsule", text_or_null(v.capsule)},
            {"knob", v.knob},
            {"mask", v.is_mask},
            {"look_at", v.look_at},
            {"min", v.min},
            {"max", v.max},
            {"reason", text_or_null(v.reason)},
            {"yield", yield_json(limit.yield)},
            {"room", room_json(limit.room)},
            {"worst_board", limit.worst_board},
            {"worst_found", worst_json(limit)},
            {"per_percent_unit", slope_unit(v.unit)},
            {"statistics", statistics_json(limit.statistics)},
            {"variance", variance_json(limit)},
            {"effects", effects_json(limit)},
            {"values", limit.values}};
}

Json figure_json(const FigureSpread& figure, const std::vector<std::string>& parts,
                 const std::vector<double>& per_percent) {
    Json slopes = Json::object();
    for (std::size_t k = 0; k < parts.size(); ++k) {
        if (std::isfinite(per_percent[k])) slopes[parts[k]] = per_percent[k];
    }
    return {{"figure", figure.figure.figure->name},
            {"unit", info(figure.figure.figure->measure->unit).symbol},
            {"knob", figure.figure.knob},
            {"best_case", figure.figure.best_case},
            {"statistics", statistics_json(figure.statistics)},
            {"per_percent_unit", slope_unit(figure.figure.figure->measure->unit)},
            {"per_percent", std::move(slopes)}};
}

Json response_json(const Envelope& envelope) {
    const std::size_t count = envelope.frequency_hz.size();
    Json knob = Json::array();
    for (std::size_t k = 0; k < envelope.knob.size(); ++k) {
        const auto curve = [&](const std::vector<double>& all) {
            const auto first = all.begin() + static_cast<std::ptrdiff_t>(k * count);
            return std::vector<double>(first, first + static_cast<std::ptrdiff_t>(count));
        };
        knob.push_back({{"position", envelope.knob[k]},
                        {"nominal_db", curve(envelope.nominal_db)},
                        {"least_db", curve(envelope.least_db)},
                        {"most_db", curve(envelope.most_db)}});
    }
    return {{"frequency_hz", envelope.frequency_hz}, {"knob", std::move(knob)}};
}

Json centring_json(const std::optional<Centring>& centring) {
    if (!centring) return {};
    return {{"limit", centring->limit.limit},
            {"knob", centring->limit.knob},
            {"off_sigma", centring->off_sigma},
            {"parts", centring->parts},
            {"drawn", centring->drawn},
            {"value", centring->value},
            {"series", centring->series},
            {"off_sigma_then", centring->off_sigma_then},
            {"yield_then", yield_json(centring->yield_then)}};
}

}  // namespace

Json yield_json(const Yield& yield) {
    return {{"good", yield.good},
            {"boards", yield.count},
            {"share", yield.share},
            {"confidence_95", {yield.low, yield.high}}};
}

std::string tolerance_json(const SpreadReport& report) {
    Json limits = Json::array();
    for (const LimitSpread& limit : report.spread.limits) limits.push_back(limit_json(limit));
    Json figures = Json::array();
    const FigureSlopes& slopes = report.spread.slopes;
    for (std::size_t k = 0; k < report.spread.figures.size(); ++k) {
        figures.push_back(
            figure_json(report.spread.figures[k], slopes.parts, slopes.per_percent[k]));
    }
    Json faults = Json::array();
    for (const PlacedFault& placed : report.spread.faults) {
        faults.push_back({{"part", placed.fault.part},
                          {"fault", name_of(placed.fault.kind)},
                          {"text", text_of(placed)}});
    }
    Json range_k;
    if (const auto& range = report.temperature_range) range_k = {range->low_k, range->high_k};
    const bool normal = report.series.distribution == Distribution::normal;
    const Json document{{"format", "lowhiss-tolerance/1"},
                        {"path", report.path},
                        {"board", report.board},
                        {"revision", report.revision},
                        {"set", report.set},
                        {"variant", text_or_null(report.variant)},
                        {"capsule", text_or_null(report.capsule)},
                        {"seed", report.series.seed},
                        {"straying", normal ? "normal" : "even"},
                        {"temperature_range_k", std::move(range_k)},
                        {"first", report.first},
                        {"boards", report.boards},
                        {"boards_asked", report.asked},
                        {"partial", report.partial()},
                        {"yield", yield_json(report.spread.yield)},
                        {"centring", centring_json(report.centring)},
                        {"without_solution", report.spread.without_solution},
                        {"why_without_solution", text_or_null(report.spread.why_without)},
                        {"not_varied", report.not_varied},
                        {"supply_faults", std::move(faults)},
                        {"faulty_boards", report.spread.faulty_boards},
                        {"limits", std::move(limits)},
                        {"figures", std::move(figures)},
                        {"response", response_json(report.spread.response)}};
    return json_text(document);
}

}  // namespace lowhiss::cli
