#include "write/best_case.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

bool is_among(std::initializer_list<std::string_view> measures, std::string_view measure) {
    return std::find(measures.begin(), measures.end(), measure) != measures.end();
}

/// Adds a gap, merging the keys of those that have the same model.
void add_gap(const ModelGap& gap, std::vector<ModelGap>& gaps) {
    const auto known = std::find_if(gaps.begin(), gaps.end(), [&](const ModelGap& other) {
        return other.model == gap.model && other.parts == gap.parts;
    });
    if (known == gaps.end()) return gaps.push_back(gap);
    for (const std::string_view key : gap.keys) {
        const auto same = std::find(known->keys.begin(), known->keys.end(), key);
        if (same == known->keys.end()) known->keys.push_back(key);
    }
}

std::string note_of(const std::vector<ModelGap>& gaps) {
    if (gaps.empty()) return "";
    return hanging(fmt::format("  {} best case: {}", best_case_mark, text_of(gaps)), 4);
}

/// The figures that any knob position assumes to be ideal.
std::vector<AssumedIdeal> all_assumed(const SweepRun& run) {
    std::vector<AssumedIdeal> all;
    for (const KnobResult& knob : run.knob) {
        all.insert(all.end(), knob.assumes_ideal.begin(), knob.assumes_ideal.end());
    }
    return all;
}

}  // namespace

bool at_best(const std::vector<AssumedIdeal>& assumed,
             std::initializer_list<std::string_view> measures) {
    return std::any_of(assumed.begin(), assumed.end(),
                       [&](const AssumedIdeal& each) { return is_among(measures, each.measure); });
}

std::string marked(std::string cell, bool best_case) {
    if (!best_case) return cell;
    const bool empty = cell.find_first_of("123456789") == std::string::npos;
    return empty ? std::string(best_case_mark) : cell + std::string(best_case_mark);
}

std::string best_case_note(const std::vector<AssumedIdeal>& assumed,
                           std::initializer_list<std::string_view> measures) {
    std::vector<ModelGap> gaps;
    for (const AssumedIdeal& each : assumed) {
        if (is_among(measures, each.measure)) add_gap(each.gap, gaps);
    }
    return note_of(gaps);
}

std::vector<ModelGap> gaps_of(const std::vector<AssumedIdeal>& assumed) {
    std::vector<ModelGap> gaps;
    for (const AssumedIdeal& each : assumed) add_gap(each.gap, gaps);
    return gaps;
}

std::string best_case_note(const SweepRun& run, std::initializer_list<std::string_view> measures) {
    return best_case_note(all_assumed(run), measures);
}

std::vector<ModelGap> all_gaps(const SweepRun& run) {
    return gaps_of(all_assumed(run));
}

}  // namespace lowhiss::cli
