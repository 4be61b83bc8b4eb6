#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/series/spread.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {

/// A file that the figures depend on, identified by its CRC-64 (ECMA-182, reflected).
struct SourceFile {
    std::string path;
    std::uint64_t crc = 0;
    std::string text;  ///< of a result file: in shard 1 only
};
std::uint64_t crc_of(const std::string& text);

/// `reader`, which adds each file it reads to `files` once, and its other names. `files` must
/// outlive it.
FileReader noting(const FileReader& reader, std::vector<SourceFile>& files);

/// Share `number`, from 1, of a series that is divided into `of` equal shares.
struct Shard {
    std::size_t number = 1;
    std::size_t of = 1;
};

/// The settings that all shards of one run share.
struct SeriesRun {
    std::string version;  ///< of lowhiss
    std::vector<SourceFile> files;
    std::string variant;           ///< empty: the plain board
    std::vector<std::string> set;  ///< what was altered for this run
    BoardSeries series;
    std::uint64_t first = 0;  ///< number of the first board
    std::size_t boards = 0;   ///< of all shards together
};

/// Consecutive boards, by their numbers in the series.
struct Stretch {
    std::uint64_t first;
    std::size_t count;
};
Stretch stretch_of(const SeriesRun& run, const Shard& shard);

/// The result of one shard, with all that the report needs.
struct SeriesResult {
    SeriesRun run;
    Shard shard;
    std::string path;  ///< of the board file, as given
    std::string board;
    std::string revision;
    std::string capsule;  ///< empty: an ideal source
    std::optional<TemperatureRange> temperature_range;
    BoardCheck nominal;
    /// In shard 1 only: effects and slopes depend on the nominal board alone, and every merge needs
    /// that shard, so all shards together do no more work than a single run.
    std::vector<LimitEffects> effects;
    FigureSlopes slopes;
    SeriesValues values;

    bool partial() const { return values.count < stretch_of(run, shard).count; }
};

inline constexpr std::string_view series_format = "lowhiss-series/3";

/// CRC-64 (ECMA-182, reflected) of a text that comes in pieces.
class Checksum {
  public:
    Checksum();
    Checksum(const Checksum&) = delete;
    Checksum& operator=(const Checksum&) = delete;
    ~Checksum();
    void add(std::string_view piece);
    std::uint64_t value() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// Writes the result as MessagePack (msgpack.org), every list of numbers as little-endian IEEE 754
/// doubles in one byte string, followed by the checksum of all bytes before it, a whole number of
/// MessagePack in nine bytes. CBOR (RFC 8949) is not used, as nlohmann's reader recurses into its
/// nested strings of unknown length without a bound, so that a hostile file would overflow the
/// stack.
void write_result(const SeriesResult& result, const Sink& sink);
inline constexpr std::size_t checksum_bytes = 9;

/// The most numbers of a series: each is held in memory, as percentiles need all, and a merge has
/// the bytes of its files beside them. Within a gigabyte.
inline constexpr double most_values = 5e7;
double values_in(const BoardCheck& nominal, std::size_t boards);

/// Takes no more memory than the result has. Throws UsageError naming the file and what is wrong
/// with it; one byte that differs is enough.
SeriesResult read_result(const std::string& path);

/// The board of a result that has the texts of its files, as merged ones have. The worst boards are
/// searched once the whole series is known, so a merge needs it. Throws UsageError if the texts are
/// not a board.
Board board_of(const SeriesResult& result);

struct NamedResult {
    std::string file;
    SeriesResult result;
};

/// Merges the shards of one run. Only the last one may be partial, as a result is always the
/// beginning of a series, which a single run can repeat. Throws UsageError if shards are missing,
/// duplicate, partial or from different runs.
SeriesResult merged(std::vector<NamedResult> shards);

}  // namespace lowhiss::cli
