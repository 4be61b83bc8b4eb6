#include "shard/series_result.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/crc.hpp>
#include <cmath>
#include <map>

#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

bool is_same(const Verdict& a, const Verdict& b) {
    const bool same_knob = a.knob == b.knob || (std::isnan(a.knob) && std::isnan(b.knob));
    return a.limit == b.limit && a.measure == b.measure && a.variant == b.variant &&
           a.capsule == b.capsule && a.is_mask == b.is_mask && same_knob;
}

/// Whether verdicts and effects are about this board.
bool is_of(const Board& board, const SeriesResult& result) {
    const std::string& variant = result.run.variant;
    if (!variant.empty() && !find_variant(board, variant)) return false;
    SpreadRequest request;
    request.variant = variant;
    request.limits = board.limits;
    request.figures = false;
    const std::vector<Verdict> own = check_nominal(board, request).verdicts;
    const std::vector<Verdict>& told = result.nominal.verdicts;
    if (!std::equal(own.begin(), own.end(), told.begin(), told.end(), is_same)) return false;
    const std::vector<Draw> draws = draws_of(assembled_board(board, variant));
    const auto is_drawn = [&](const PartEffect& effect) {
        return std::any_of(draws.begin(), draws.end(), [&](const Draw& draw) {
            return draw.kind == effect.draw.kind && draw.name == effect.draw.name &&
                   draw.low == effect.draw.low && draw.high == effect.draw.high;
        });
    };
    return std::all_of(result.effects.begin(), result.effects.end(),
                       [&](const LimitEffects& limit) {
                           return limit.effects.size() == draws.size() &&
                                  std::all_of(limit.effects.begin(), limit.effects.end(), is_drawn);
                       });
}

}  // namespace

struct Checksum::State {
    static constexpr std::uint64_t polynomial = 0x42F0E1EBA9EA3693U;
    static constexpr std::uint64_t ones = ~std::uint64_t{0};
    boost::crc_optimal<64, polynomial, ones, ones, true, true> sum;
};

Checksum::Checksum() : state_(std::make_unique<State>()) {}
Checksum::~Checksum() = default;

void Checksum::add(std::string_view piece) {
    state_->sum.process_bytes(piece.data(), piece.size());
}

std::uint64_t Checksum::value() const {
    return state_->sum.checksum();
}

double values_in(const BoardCheck& nominal, std::size_t boards) {
    const std::size_t columns = nominal.figures.size() + 2 * nominal.verdicts.size();
    return static_cast<double>(columns) * static_cast<double>(boards);
}

std::uint64_t crc_of(const std::string& text) {
    Checksum sum;
    sum.add(text);
    return sum.value();
}

FileReader noting(const FileReader& reader, std::vector<SourceFile>& files) {
    const auto noted = std::make_shared<std::map<std::string, SourceFile>>();  // by identity
    const auto add = [&files](SourceFile file) {
        const bool known = std::any_of(files.begin(), files.end(), [&](const SourceFile& other) {
            return other.path == file.path;
        });
        if (!known) files.push_back(std::move(file));
    };
    return {[reader, noted, add](const std::string& path) {
                auto content = reader(path);
                if (const auto* text = std::get_if<std::string>(&content)) {
                    const SourceFile file{path, crc_of(*text), *text};
                    noted->emplace(reader.identity(path), file);
                    add(file);
                }
                return content;
            },
            [reader, noted, add](const std::string& path) {
                std::string identity = reader.identity(path);
                const auto same = noted->find(identity);
                if (same != noted->end()) add({path, same->second.crc, same->second.text});
                return identity;
            }};
}

Board board_of(const SeriesResult& result) {
    const std::vector<SourceFile>& files = result.run.files;
    const auto file_named = [&](const std::string& path) {
        const auto known = std::find_if(files.begin(), files.end(),
                                        [&](const SourceFile& file) { return file.path == path; });
        return known == files.end() ? nullptr : &*known;
    };
    const FileReader reader(
        [&](const std::string& path) -> FileReader::Content {
            const SourceFile* file = file_named(path);
            if (file == nullptr) return Unreadable{"it is not in the result"};
            return file->text;
        },
        // Names of one file have the same text, and so the same checksum.
        [&](const std::string& path) {
            const SourceFile* file = file_named(path);
            return file == nullptr ? path : std::to_string(file->crc);
        });
    BoardReading reading = read_board(result.path, reader, result.run.set);
    if (reading.board && is_of(*reading.board, result)) return *std::move(reading.board);
    throw UsageError(
        fmt::format("the results are damaged: their figures are not those of '{}' in them; "
                    "accepted: files written by 'lowhiss tolerance --result'",
                    result.path));
}

Stretch stretch_of(const SeriesRun& run, const Shard& shard) {
    const std::size_t begin = run.boards * (shard.number - 1) / shard.of;
    const std::size_t end = run.boards * shard.number / shard.of;
    return {run.first + begin, end - begin};
}

}  // namespace lowhiss::cli
