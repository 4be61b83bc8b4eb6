#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>
#include <optional>

#include "shard/series_result.hpp"
#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

/// The file that differs, or nothing. Folders may differ from machine to machine.
std::optional<std::string> other_file(const SeriesRun& a, const SeriesRun& b) {
    const auto name_of = [](const SourceFile& file) {
        return std::filesystem::path(file.path).filename().string();
    };
    const std::size_t both = std::min(a.files.size(), b.files.size());
    for (std::size_t k = 0; k < both; ++k) {
        if (a.files[k].crc != b.files[k].crc) return name_of(b.files[k]);
    }
    if (a.files.size() > both) return name_of(a.files[both]);
    if (b.files.size() > both) return name_of(b.files[both]);
    return std::nullopt;
}

/// One property of a run, as it follows "from a run".
using Describe = std::string (*)(const SeriesResult&);

std::string by_version(const SeriesResult& result) {
    return "by lowhiss " + result.run.version;
}

std::string of_assembly(const SeriesResult& result) {
    return result.run.variant.empty() ? "of the plain board" : "of variant " + result.run.variant;
}

std::string as_set(const SeriesResult& result) {
    const std::vector<std::string>& set = result.run.set;
    return set.empty() ? "without --set" : fmt::format("with --set {}", fmt::join(set, " --set "));
}

std::string with_series(const SeriesResult& result) {
    const BoardSeries& series = result.run.series;
    return fmt::format("with seed {} and {} spread", series.seed,
                       series.distribution == Distribution::normal ? "normal" : "uniform");
}

std::string of_boards(const SeriesResult& result) {
    return fmt::format("of {} boards from board {}", result.run.boards, result.run.first);
}

std::string in_shards(const SeriesResult& result) {
    return fmt::format("in {} shards", result.shard.of);
}

/// The first property in which the runs differ, or null.
Describe difference(const SeriesResult& a, const SeriesResult& b) {
    if (a.run.version != b.run.version) return by_version;
    if (a.run.variant != b.run.variant) return of_assembly;
    if (a.run.set != b.run.set) return as_set;
    if (a.run.series.seed != b.run.series.seed ||
        a.run.series.distribution != b.run.series.distribution) {
        return with_series;
    }
    if (a.run.boards != b.run.boards || a.run.first != b.run.first) return of_boards;
    return a.shard.of != b.shard.of ? in_shards : nullptr;
}

void require_same_run(const NamedResult& first, const NamedResult& other) {
    if (const auto file = other_file(first.result.run, other.result.run)) {
        throw UsageError(
            fmt::format("'{}' and '{}' are from different boards: {} differs; accepted: the shards "
                        "of one run",
                        other.file, first.file, *file));
    }
    if (const Describe describe = difference(first.result, other.result)) {
        throw UsageError(fmt::format(
            "'{}' is from a run {}, '{}' from a run {}; accepted: the shards of one run",
            other.file, describe(other.result), first.file, describe(first.result)));
    }
}

/// `shards` is sorted by number.
void require_no_overlap(const std::vector<NamedResult>& shards) {
    const auto twice = std::adjacent_find(shards.begin(), shards.end(),
                                          [](const NamedResult& a, const NamedResult& b) {
                                              return a.result.shard.number == b.result.shard.number;
                                          });
    if (twice == shards.end()) return;
    throw UsageError(fmt::format("'{}' and '{}' are both shard {} of {}; accepted: each shard once",
                                 twice->file, (twice + 1)->file, twice->result.shard.number,
                                 twice->result.shard.of));
}

void require_all(const std::vector<NamedResult>& shards) {
    constexpr std::size_t most_named = 10;
    const std::size_t count = shards.front().result.shard.of;
    std::vector<std::string> missing;
    std::size_t next = 0;
    for (std::size_t number = 1; number <= count; ++number) {
        const bool there = next < shards.size() && shards[next].result.shard.number == number;
        if (there)
            ++next;
        else if (count - shards.size() <= most_named || missing.size() + 1 < most_named)
            missing.push_back(std::to_string(number));
    }
    if (missing.empty()) return;
    const std::size_t more = count - shards.size() - missing.size();
    if (more > 0) missing.push_back(fmt::format("{} more", more));
    throw UsageError(fmt::format("{} of {} shards missing: {}; accepted: all shards, in any order",
                                 count - shards.size(), count, fmt::join(missing, ", ")));
}

void require_whole(const std::vector<NamedResult>& shards) {
    for (std::size_t k = 0; k + 1 < shards.size(); ++k) {
        const SeriesResult& result = shards[k].result;
        if (!result.partial()) continue;
        throw UsageError(fmt::format(
            "'{}' is partial: shard {} of {} was interrupted after {} of {} boards; only the last "
            "shard may be partial; run this one again",
            shards[k].file, result.shard.number, result.shard.of, result.values.count,
            stretch_of(result.run, result.shard).count));
    }
}

}  // namespace

SeriesResult merged(std::vector<NamedResult> shards) {
    for (const NamedResult& other : shards) require_same_run(shards.front(), other);
    std::stable_sort(shards.begin(), shards.end(), [](const NamedResult& a, const NamedResult& b) {
        return a.result.shard.number < b.result.shard.number;
    });
    require_no_overlap(shards);
    require_all(shards);
    require_whole(shards);
    SeriesResult whole = std::move(shards.front().result);
    std::vector<SeriesValues> stretches{std::move(whole.values)};
    for (std::size_t k = 1; k < shards.size(); ++k) {
        stretches.push_back(std::move(shards[k].result.values));
    }
    try {
        whole.values = joined(std::move(stretches));
    } catch (const std::invalid_argument&) {
        throw UsageError(
            "the results differ in their limits or figures; accepted: the shards of one "
            "run");
    }
    whole.shard = {};
    return whole;
}

}  // namespace lowhiss::cli
