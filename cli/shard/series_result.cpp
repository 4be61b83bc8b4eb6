#include "shard/series_result.hpp"

#include <algorithm>
#include <boost/crc.hpp>

namespace lowhiss::cli {
namespace {

std::uint64_t crc_of(const std::string& text) {
    constexpr std::uint64_t polynomial = 0x42F0E1EBA9EA3693U;
    constexpr std::uint64_t ones = ~std::uint64_t{0};
    boost::crc_optimal<64, polynomial, ones, ones, true, true> sum;
    sum.process_bytes(text.data(), text.size());
    return sum.checksum();
}

}  // namespace

FileReader noting(FileReader reader, std::vector<SourceFile>& files) {
    return [reader = std::move(reader), &files](const std::string& path) {
        auto content = reader(path);
        const auto known = std::find_if(files.begin(), files.end(),
                                        [&](const SourceFile& file) { return file.path == path; });
        const auto* text = std::get_if<std::string>(&content);
        if (text != nullptr && known == files.end()) files.push_back({path, crc_of(*text)});
        return content;
    };
}

Stretch stretch_of(const SeriesRun& run, const Shard& shard) {
    const std::size_t begin = run.boards * (shard.number - 1) / shard.of;
    const std::size_t end = run.boards * shard.number / shard.of;
    return {run.first + begin, end - begin};
}

}  // namespace lowhiss::cli
