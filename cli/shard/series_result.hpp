#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "lowhiss/series/spread.hpp"

namespace lowhiss::cli {

/// A file that the figures depend on, known again by its CRC-64 (ECMA-182, reflected).
struct SourceFile {
    std::string path;
    std::uint64_t crc = 0;
};

/// `reader`, which notes in `files` what it has read, each file once. `files` must outlive it.
FileReader noting(FileReader reader, std::vector<SourceFile>& files);

/// Part `number`, from 1, of the equal parts that a series is divided into.
struct Shard {
    std::size_t number = 1;
    std::size_t of = 1;
};

/// What all shards of one run have in common.
struct SeriesRun {
    std::string version;  ///< of lowhiss
    std::vector<SourceFile> files;
    std::string variant;  ///< empty: the plain board
    BoardSeries series;
    std::uint64_t first = 0;  ///< index of the first board of all
    std::size_t boards = 0;   ///< of all shards together
};

/// A stretch of consecutive boards, in indices of the series.
struct Stretch {
    std::uint64_t first;
    std::size_t count;
};
Stretch stretch_of(const SeriesRun& run, const Shard& shard);

/// What a shard has come to, and all that the report needs.
struct SeriesResult {
    SeriesRun run;
    Shard shard;
    std::string path;  ///< of the board file, as it was given
    std::string board;
    std::string revision;
    std::string capsule;  ///< empty: an ideal source
    std::optional<TemperatureRange> temperature_range;
    BoardCheck nominal;
    /// In shard 1 alone. They depend on the drawn board only and that shard has to be there in any
    /// case, so that all shards together do no more work than one run, and its numbers are used.
    std::vector<LimitEffects> effects;
    FigureSlopes slopes;
    SeriesValues values;

    bool partial() const { return values.count < stretch_of(run, shard).count; }
};

/// The result as MessagePack (msgpack.org), every list of numbers as little-endian IEEE 754 doubles
/// in one byte string. Not as CBOR (RFC 8949), which says the same: the library's reader follows
/// its nested strings of unknown length down the stack before anybody can stop it, so that a
/// hostile file would crash the program; MessagePack has no such strings.
std::string result_bytes(const SeriesResult& result);

/// Throws UsageError, which names the file and says what is wrong with it.
SeriesResult read_result(const std::string& path);

/// The shards of one run, given with the names of their files, as one result. Only the last one may
/// be partial: figures are always of boards from the beginning of the series on, so that a run can
/// give them again. Throws UsageError where shards are missing, there twice, partial or of
/// different runs.
struct NamedResult {
    std::string file;
    SeriesResult result;
};
SeriesResult merged(std::vector<NamedResult> shards);

}  // namespace lowhiss::cli
