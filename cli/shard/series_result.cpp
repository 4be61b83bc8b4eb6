#include "shard/series_result.hpp"

#include <algorithm>
#include <boost/crc.hpp>

namespace lowhiss::cli {
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

FileReader noting(const FileReader& reader, std::vector<SourceFile>& files) {
    return reader.reading([reader, &files](const std::string& path) {
        auto content = reader(path);
        const auto known = std::find_if(files.begin(), files.end(),
                                        [&](const SourceFile& file) { return file.path == path; });
        const auto* text = std::get_if<std::string>(&content);
        if (text != nullptr && known == files.end()) {
            Checksum sum;
            sum.add(*text);
            files.push_back({path, sum.value()});
        }
        return content;
    });
}

Stretch stretch_of(const SeriesRun& run, const Shard& shard) {
    const std::size_t begin = run.boards * (shard.number - 1) / shard.of;
    const std::size_t end = run.boards * shard.number / shard.of;
    return {run.first + begin, end - begin};
}

}  // namespace lowhiss::cli
