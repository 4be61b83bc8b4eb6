#include <array>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/board/slot.hpp"

namespace lowhiss {
namespace {

using FeedField = Field<Feed>;

constexpr std::array feed_schema_fields{
    FeedField{"voltage", Unit::volt, Range::positive, optional, &slot<&Feed::voltage_v>,
              "instead of the standard's, of a recorder that does not keep to it"},
    FeedField{"voltage_tolerance", Unit::volt, Range::at_least_zero, optional,
              &slot<&Feed::voltage_tolerance_v>, "either way"},
    FeedField{"resistance", Unit::ohm, Range::positive, optional, &slot<&Feed::resistance_ohm>,
              "of each of the two"},
    FeedField{"matching", Unit::fraction, Range::zero_to_one, optional, &slot<&Feed::matching>,
              "by what part of itself one may differ from the other"},
    FeedField{"current_limit", Unit::ampere, Range::positive, optional,
              &slot<&Feed::current_limit_a>, "that may be drawn from both together"},
    FeedField{"noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
              &slot<&Feed::noise_v_rthz>, "of the voltage ahead of the resistors"},
};

Feed standard(const char* name, double volts, double tolerance_v, double ohm, double limit_a) {
    Feed feed;
    feed.standard = name;
    feed.voltage_v = volts;
    feed.voltage_tolerance_v = tolerance_v;
    feed.resistance_ohm = ohm;
    feed.matching = 0.004;
    feed.current_limit_a = limit_a;
    return feed;
}

}  // namespace

std::span<const Field<Feed>> feed_fields() {
    return feed_schema_fields;
}

std::span<const Feed> standard_feeds() {
    static const std::array feeds{
        standard("P12", 12, 1, 680, 15e-3),
        standard("P24", 24, 4, 1200, 10e-3),
        standard("P48", 48, 4, 6800, 10e-3),
    };
    return feeds;
}

}  // namespace lowhiss
