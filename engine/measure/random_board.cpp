#include "lowhiss/measure/random_board.hpp"

#include <Random123/philox.h>

#include <algorithm>
#include <boost/crc.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>

#include "lowhiss/board/schema.hpp"

namespace lowhiss {
namespace {

/// What a name is drawn for.
enum class Stream : std::uint32_t { part, group };

std::uint32_t low(std::uint64_t word) {
    return static_cast<std::uint32_t>(word);
}
std::uint32_t high(std::uint64_t word) {
    return static_cast<std::uint32_t>(word >> 32U);
}

/// Evenly within (0, 1), from 53 bits.
double uniform(const BoardSeries& series, std::uint64_t index, const std::string& name,
               Stream stream) {
    boost::crc_32_type sum;
    sum.process_bytes(name.data(), name.size());
    const r123::Philox4x32::ctr_type counter{
        {low(index), high(index), sum.checksum(), static_cast<std::uint32_t>(stream)}};
    const r123::Philox4x32::key_type key{{low(series.seed), high(series.seed)}};
    const auto words = r123::Philox4x32()(counter, key);
    const std::uint64_t bits = (std::uint64_t{words[1]} << 32U | words[0]) >> 11U;
    return std::ldexp(static_cast<double>(bits) + 0.5, -53);
}

/// Within (-1, 1).
double draw(const BoardSeries& series, std::uint64_t index, const std::string& name,
            Stream stream) {
    const double u = uniform(series, index, name, stream);
    if (series.straying == Straying::even) return 2 * u - 1;
    const boost::math::normal_distribution<> normal;
    const double cut = cdf(normal, -3.0);  // what lies beyond the tolerance on each side
    return quantile(normal, cut + u * (1 - 2 * cut)) / 3;
}

double& figure(Part& part, std::string_view key) {
    const auto fields = schema_of(part).fields;
    const auto field =
        std::find_if(fields.begin(), fields.end(), [&](const auto& f) { return f.key == key; });
    return field->slot(part.data);
}

const Matched* group_of(const Board& board, const std::string& part) {
    for (const Matched& group : board.matched) {
        if (std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end()) {
            return &group;
        }
    }
    return nullptr;
}

}  // namespace

double tolerance_of(const Part& part) {
    const auto fields = schema_of(part).fields;
    const auto field = std::find_if(fields.begin(), fields.end(),
                                    [](const auto& f) { return f.key == "tolerance"; });
    if (field == fields.end() || !part.fitted) return 0;
    PartData data = part.data;
    return field->slot(data);
}

void stray(Part& part, double deviation) {
    figure(part, schema_of(part).keyword) *= 1 + deviation;
}

Board random_board(const Board& board, const BoardSeries& series, std::uint64_t index) {
    Board result = board;
    const auto spread = [&](Part& part) {
        const double tolerance = tolerance_of(part);
        if (tolerance == 0) return;
        const double own = draw(series, index, part.name, Stream::part);
        const Matched* group = group_of(board, part.name);
        stray(part, group ? tolerance * draw(series, index, group->name, Stream::group) +
                                group->within * own
                          : tolerance * own);
    };
    for (Part& part : result.parts) spread(part);
    for (Variant& variant : result.variants) {
        for (Part& part : variant.changed) spread(part);
    }
    return result;
}

}  // namespace lowhiss
