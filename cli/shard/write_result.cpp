#include <bit>
#include <boost/endian/conversion.hpp>
#include <cstring>
#include <nlohmann/json.hpp>

#include "shard/series_result.hpp"

namespace lowhiss::cli {
namespace {

using SortedJson = nlohmann::json;

SortedJson packed(const std::vector<double>& values) {
    std::vector<std::uint8_t> bytes(8 * values.size());
    for (std::size_t k = 0; k < values.size(); ++k) {
        boost::endian::store_little_u64(&bytes[8 * k], std::bit_cast<std::uint64_t>(values[k]));
    }
    return SortedJson::binary(std::move(bytes));
}

/// As bytes, for a text of MessagePack must be UTF-8.
SortedJson text_bytes(const std::string& text) {
    return SortedJson::binary({text.begin(), text.end()});
}

SortedJson packed_verdict(const Verdict& v) {
    return {{"limit", v.limit},
            {"measure", v.measure},
            {"variant", v.variant},
            {"capsule", v.capsule},
            {"reason", v.reason},
            {"mask", v.is_mask},
            {"look_at", v.look_at},
            {"known", v.outcome != Outcome::not_known},
            {"nominal", packed({v.knob, v.value, v.at_hz, v.min, v.max, v.margin, v.margin_db})}};
}

SortedJson effects_json(const LimitEffects& limit) {
    SortedJson draws = SortedJson::array();
    std::vector<double> ends;
    for (const PartEffect& effect : limit.effects) {
        draws.push_back(
            {{"kind", static_cast<std::uint32_t>(effect.draw.kind)}, {"name", effect.draw.name}});
        ends.push_back(effect.at_low_end);
        ends.push_back(effect.at_high_end);
        ends.push_back(effect.per_percent);
        ends.push_back(effect.draw.low);
        ends.push_back(effect.draw.high);
    }
    return {{"draws", std::move(draws)}, {"moves", packed(ends)}};
}

SortedJson limits_json(const SeriesResult& result) {
    SortedJson limits = SortedJson::array();
    for (std::size_t i = 0; i < result.nominal.verdicts.size(); ++i) {
        SortedJson limit = packed_verdict(result.nominal.verdicts[i]);
        limit["values"] = packed(result.values.limits[i].values);
        limit["margins"] = packed(result.values.limits[i].margins);
        if (result.shard.number == 1) limit["effects"] = effects_json(result.effects[i]);
        limits.push_back(std::move(limit));
    }
    return limits;
}

SortedJson figures_json(const SeriesResult& result) {
    const std::vector<double> none;
    SortedJson figures = SortedJson::array();
    for (std::size_t i = 0; i < result.nominal.figures.size(); ++i) {
        const Figure& figure = result.nominal.figures[i];
        const auto& slopes = result.slopes.per_percent;
        figures.push_back({{"figure", figure.figure->name},
                           {"variant", figure.variant},
                           {"capsule", figure.capsule},
                           {"trouble", figure.trouble},
                           {"best_case", figure.best_case},
                           {"nominal", packed({figure.knob, figure.value})},
                           {"per_percent", packed(slopes.empty() ? none : slopes[i])},
                           {"values", packed(result.values.figures[i])}});
    }
    return figures;
}

SortedJson faults_json(const BoardCheck& nominal) {
    SortedJson faults = SortedJson::array();
    for (const PlacedFault& placed : nominal.faults) {
        faults.push_back({{"part", placed.fault.part},
                          {"text", placed.fault.text},
                          {"supply", placed.supply},
                          {"knob", packed({placed.knob})},
                          {"every_end", placed.at_every_end},
                          {"every_knob", placed.at_every_knob},
                          {"fault", name_of(placed.fault.kind)}});
    }
    return faults;
}

SortedJson range_k(const SeriesResult& result) {
    const auto& range = result.temperature_range;
    return packed(range ? std::vector{range->low_k, range->high_k} : std::vector{unset, unset});
}

}  // namespace

std::string result_bytes(const SeriesResult& result) {
    const SeriesRun& run = result.run;
    SortedJson files = SortedJson::array();
    for (const SourceFile& file : run.files) {
        files.push_back({{"path", file.path}, {"crc64", file.crc}});
        if (result.shard.number == 1) files.back()["text"] = text_bytes(file.text);
    }
    const SortedJson document{{"format", "lowhiss-series/1"},
                              {"version", run.version},
                              {"files", std::move(files)},
                              {"variant", run.variant},
                              {"seed", run.series.seed},
                              {"normal", run.series.distribution == Distribution::normal},
                              {"first", run.first},
                              {"boards", run.boards},
                              {"shard", result.shard.number},
                              {"shards", result.shard.of},
                              {"path", result.path},
                              {"board", result.board},
                              {"revision", result.revision},
                              {"capsule", result.capsule},
                              {"temperature_range_k", range_k(result)},
                              {"parts", result.slopes.parts},
                              {"done", result.values.count},
                              {"limits", limits_json(result)},
                              {"figures", figures_json(result)},
                              {"supply_faults", faults_json(result.nominal)},
                              {"faults", packed(result.values.faults)},
                              {"nominal_db", packed(result.nominal.response_db)},
                              {"least_db", packed(result.values.least_db)},
                              {"most_db", packed(result.values.most_db)}};
    const std::vector<std::uint8_t> bytes = SortedJson::to_msgpack(document);
    return {bytes.begin(), bytes.end()};
}

}  // namespace lowhiss::cli
