#include "shard/packer.hpp"
#include "shard/series_result.hpp"

namespace lowhiss::cli {
namespace {

void pack_texts(const std::vector<std::string>& texts, Packer& packer) {
    packer.list(texts.size());
    for (const std::string& text : texts) packer.text(text);
}

void pack_effects(const LimitEffects& limit, Packer& packer) {
    packer.table(2);
    packer.text("draws");
    packer.list(limit.effects.size());
    std::vector<double> ends;
    for (const PartEffect& effect : limit.effects) {
        packer.table(2);
        packer.text("kind");
        packer.whole(static_cast<std::uint64_t>(effect.draw.kind));
        packer.text("name");
        packer.text(effect.draw.name);
        ends.push_back(effect.at_low_end);
        ends.push_back(effect.at_high_end);
        ends.push_back(effect.per_percent);
        ends.push_back(effect.draw.low);
        ends.push_back(effect.draw.high);
    }
    packer.text("moves");
    packer.numbers(ends);
}

void pack_limit(const SeriesResult& result, std::size_t index, Packer& packer) {
    const Verdict& v = result.nominal.verdicts[index];
    const bool effects = result.shard.number == 1;
    packer.table(effects ? 12 : 11);
    const auto text = [&](std::string_view key, std::string_view value) {
        packer.text(key);
        packer.text(value);
    };
    text("limit", v.limit);
    text("measure", v.measure);
    text("variant", v.variant);
    text("capsule", v.capsule);
    text("reason", v.reason);
    packer.text("mask");
    packer.truth(v.is_mask);
    packer.text("known");
    packer.truth(v.outcome != Outcome::not_known);
    packer.text("look_at");
    pack_texts(v.look_at, packer);
    packer.text("nominal");
    packer.numbers({v.knob, v.value, v.at_hz, v.min, v.max, v.margin, v.margin_db});
    packer.text("values");
    packer.numbers(result.values.limits[index].values);
    packer.text("margins");
    packer.numbers(result.values.limits[index].margins);
    if (!effects) return;
    packer.text("effects");
    pack_effects(result.effects[index], packer);
}

void pack_figure(const SeriesResult& result, std::size_t index, Packer& packer) {
    const Figure& figure = result.nominal.figures[index];
    const auto& slopes = result.slopes.per_percent;
    packer.table(8);
    const auto text = [&](std::string_view key, std::string_view value) {
        packer.text(key);
        packer.text(value);
    };
    text("figure", figure.figure->name);
    text("variant", figure.variant);
    text("capsule", figure.capsule);
    text("trouble", figure.trouble);
    packer.text("best_case");
    packer.truth(figure.best_case);
    packer.text("nominal");
    packer.numbers({figure.knob, figure.value});
    packer.text("per_percent");
    packer.numbers(slopes.empty() ? std::vector<double>{} : slopes[index]);
    packer.text("values");
    packer.numbers(result.values.figures[index]);
}

void pack_run(const SeriesResult& result, Packer& packer) {
    const SeriesRun& run = result.run;
    const bool with_text = result.shard.number == 1;
    packer.text("version");
    packer.text(run.version);
    packer.text("files");
    packer.list(run.files.size());
    for (const SourceFile& file : run.files) {
        packer.table(with_text ? 3 : 2);
        packer.text("path");
        packer.text(file.path);
        packer.text("crc64");
        packer.whole(file.crc);
        if (!with_text) continue;
        packer.text("text");  // as bytes: a text of MessagePack must be UTF-8
        packer.bytes(file.text);
    }
    packer.text("variant");
    packer.text(run.variant);
    packer.text("set");
    pack_texts(run.set, packer);
    packer.text("seed");
    packer.whole(run.series.seed);
    packer.text("normal");
    packer.truth(run.series.distribution == Distribution::normal);
    packer.text("first");
    packer.whole(run.first);
    packer.text("boards");
    packer.whole(run.boards);
}

void pack_fault(const PlacedFault& placed, Packer& packer) {
    packer.table(7);
    const auto text = [&](std::string_view key, std::string_view value) {
        packer.text(key);
        packer.text(value);
    };
    text("fault", name_of(placed.fault.kind));
    text("part", placed.fault.part);
    text("text", placed.fault.text);
    text("supply", placed.supply);
    packer.text("knob");
    packer.numbers({placed.knob});
    packer.text("every_end");
    packer.truth(placed.at_every_end);
    packer.text("every_knob");
    packer.truth(placed.at_every_knob);
}

/// Writes what belongs to the nominal board and to the whole series.
void pack_head(const SeriesResult& result, Packer& packer) {
    const auto text = [&](std::string_view key, std::string_view value) {
        packer.text(key);
        packer.text(value);
    };
    packer.text("shard");
    packer.whole(result.shard.number);
    packer.text("shards");
    packer.whole(result.shard.of);
    text("path", result.path);
    text("board", result.board);
    text("revision", result.revision);
    text("capsule", result.capsule);
    packer.text("supply_faults");
    packer.list(result.nominal.faults.size());
    for (const PlacedFault& placed : result.nominal.faults) pack_fault(placed, packer);
    packer.text("faults");
    packer.numbers(result.values.faults);
    packer.text("temperature_range_k");
    const auto& range = result.temperature_range;
    packer.numbers(range ? std::vector{range->low_k, range->high_k} : std::vector{unset, unset});
    packer.text("parts");
    pack_texts(result.slopes.parts, packer);
    packer.text("done");
    packer.whole(result.values.count);
    packer.text("without_solution");
    packer.list(result.values.without_solution.size());
    for (const std::uint64_t index : result.values.without_solution) packer.whole(index);
    text("why_without", result.values.why_without);
    packer.text("nominal_db");
    packer.numbers(result.nominal.response_db);
    packer.text("least_db");
    packer.numbers(result.values.least_db);
    packer.text("most_db");
    packer.numbers(result.values.most_db);
}

}  // namespace

void write_result(const SeriesResult& result, const Sink& sink) {
    Checksum sum;
    const Sink summed = [&](std::string_view piece) {
        sum.add(piece);
        sink(piece);
    };
    Packer packer(summed);
    packer.table(27);
    packer.text("format");
    packer.text(series_format);
    pack_run(result, packer);
    pack_head(result, packer);
    packer.text("limits");
    packer.list(result.nominal.verdicts.size());
    for (std::size_t k = 0; k < result.nominal.verdicts.size(); ++k) pack_limit(result, k, packer);
    packer.text("figures");
    packer.list(result.nominal.figures.size());
    for (std::size_t k = 0; k < result.nominal.figures.size(); ++k) pack_figure(result, k, packer);
    packer.finish();
    Packer trailer(sink);
    trailer.whole_in_nine_bytes(sum.value());
    trailer.finish();
}

}  // namespace lowhiss::cli
