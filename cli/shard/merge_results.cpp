#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>
#include <optional>

#include "command/options.hpp"
#include "shard/series_result.hpp"

namespace lowhiss::cli {
namespace {

std::string name_of(const SourceFile& file) {
    return std::filesystem::path(file.path).filename().string();
}

/// Which file differs; nothing where all are the same. Folders may differ from machine to machine.
std::optional<std::string> other_file(const SeriesRun& a, const SeriesRun& b) {
    const std::size_t both = std::min(a.files.size(), b.files.size());
    for (std::size_t k = 0; k < both; ++k) {
        if (a.files[k].crc != b.files[k].crc) return name_of(b.files[k]);
    }
    if (a.files.size() > both) return name_of(a.files[both]);
    if (b.files.size() > both) return name_of(b.files[both]);
    return std::nullopt;
}

std::string assembly_text(const SeriesRun& run) {
    return run.variant.empty() ? "the plain board" : "variant " + run.variant;
}

std::string series_text(const SeriesRun& run) {
    return fmt::format("series {}, straying {}", run.series.seed,
                       run.series.straying == Straying::normal ? "normally" : "evenly");
}

std::string boards_text(const SeriesRun& run) {
    return fmt::format("{} boards from number {} on", run.boards, run.first);
}

/// What makes `b` belong to another run than `a`: what b is, and what a is. Nothing where it does
/// not.
std::optional<std::pair<std::string, std::string>> difference(const SeriesResult& a,
                                                              const SeriesResult& b) {
    const auto differ = [](std::string of_a, std::string of_b) {
        return std::pair{std::move(of_b), std::move(of_a)};
    };
    if (a.run.version != b.run.version) {
        return differ("by lowhiss " + a.run.version, "by lowhiss " + b.run.version);
    }
    if (const auto file = other_file(a.run, b.run)) {
        return differ("of another board", fmt::format("of a board whose {} differs", *file));
    }
    for (const auto text : {assembly_text, series_text, boards_text}) {
        if (text(a.run) != text(b.run)) return differ("of " + text(a.run), "of " + text(b.run));
    }
    if (a.shard.of != b.shard.of) {
        return differ(fmt::format("one of {} shards", a.shard.of),
                      fmt::format("one of {} shards", b.shard.of));
    }
    return std::nullopt;
}

void require_one_run(const std::vector<NamedResult>& shards) {
    const NamedResult& first = shards.front();
    for (const NamedResult& other : shards) {
        if (const auto found = difference(first.result, other.result)) {
            throw UsageError(fmt::format("'{}' is {}, '{}' is {}; accepted: the shards of one run",
                                         other.file, found->first, first.file, found->second));
        }
    }
}

/// `shards` is sorted by number.
void require_no_overlap(const std::vector<NamedResult>& shards) {
    const auto twice = std::adjacent_find(shards.begin(), shards.end(),
                                          [](const NamedResult& a, const NamedResult& b) {
                                              return a.result.shard.number == b.result.shard.number;
                                          });
    if (twice == shards.end()) return;
    throw UsageError(fmt::format(
        "'{}' and '{}' overlap: both are shard {} of {}; accepted: each "
        "shard once",
        twice->file, (twice + 1)->file, twice->result.shard.number, twice->result.shard.of));
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
    throw UsageError(
        fmt::format("of {} shards {} {} missing: {}; accepted: all of them, in any "
                    "order",
                    count, count - shards.size(), count - shards.size() == 1 ? "is" : "are",
                    fmt::join(missing, ", ")));
}

void require_beginning(const std::vector<NamedResult>& shards) {
    for (std::size_t k = 0; k + 1 < shards.size(); ++k) {
        const SeriesResult& result = shards[k].result;
        if (!result.partial()) continue;
        throw UsageError(fmt::format(
            "'{}' is partial: shard {} of {} was interrupted after {} of {} boards, and others "
            "follow it; accepted: whole shards, the last one aside; run that shard again",
            shards[k].file, result.shard.number, result.shard.of, result.values.count,
            stretch_of(result.run, result.shard).count));
    }
}

}  // namespace

SeriesResult merged(std::vector<NamedResult> shards) {
    require_one_run(shards);
    std::stable_sort(shards.begin(), shards.end(), [](const NamedResult& a, const NamedResult& b) {
        return a.result.shard.number < b.result.shard.number;
    });
    require_no_overlap(shards);
    require_all(shards);
    require_beginning(shards);
    SeriesResult whole = std::move(shards.front().result);
    for (std::size_t k = 1; k < shards.size(); ++k) {
        try {
            append(whole.values, shards[k].result.values);
        } catch (const std::invalid_argument&) {
            throw UsageError(
                fmt::format("'{}' has other limits or figures than '{}'; accepted: "
                            "the shards of one run",
                            shards[k].file, shards.front().file));
        }
        shards[k].result.values = {};
    }
    whole.shard = {};
    return whole;
}

}  // namespace lowhiss::cli
