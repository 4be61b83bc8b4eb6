#include "write/checked_board.hpp"

#include <fmt/format.h>

#include <cmath>

#include "write/figure_text.hpp"

namespace lowhiss::cli {
namespace {

std::string amount_text(double amount, const FigureDrift& drift) {
    const Unit unit = drift.figure.figure->measure->unit;
    if (drift.allowed.relative || unit == Unit::fraction)
        return fmt::format("{:.2f} %", 100 * amount);
    return fmt::format("{:.2f} {}", amount, unit == Unit::degree ? "deg" : "dB");
}

std::string moved_text(const FigureDrift& drift) {
    const bool exists = !std::isnan(drift.figure.value);
    if (!std::isnan(drift.moved_by)) {
        return fmt::format("{}, was {}; changed by {}, allowed {}", drift.after, drift.before,
                           amount_text(drift.moved_by, drift),
                           amount_text(drift.allowed.size, drift));
    }
    return exists ? fmt::format("{}, did not exist before", drift.after)
                  : fmt::format("does not exist, was {}", drift.before);
}

}  // namespace

bool fails(const FigureDrift& drift, const BaselineCheck& baseline) {
    using State = BaselineCheck::State;
    if (baseline.state == State::recorded || baseline.state == State::unchanged) return false;
    using Kind = FigureDrift::Kind;
    switch (drift.kind) {
        case Kind::still:
            return false;
        case Kind::missing:
        case Kind::obsolete:
            return baseline.strict;
        case Kind::moved:
        case Kind::not_computed:
            return true;
    }
    return true;
}

std::string drift_name(const FigureDrift& drift) {
    if (!drift.figure.figure) return drift.key;
    return fmt::format("{}: {}", drift.figure.figure->name,
                       place_text(drift.figure.variant, drift.figure.capsule, drift.figure.knob));
}

std::string drift_text(const FigureDrift& drift) {
    using Kind = FigureDrift::Kind;
    switch (drift.kind) {
        case Kind::still:
            return fmt::format("{}, was {}", drift.after, drift.before);
        case Kind::moved:
            return moved_text(drift);
        case Kind::missing:
            return fmt::format("{}, not in the baseline", drift.after);
        case Kind::obsolete:
            return fmt::format("was {}, no longer a figure of the board", drift.before);
        case Kind::not_computed:
            return drift.figure.trouble;
    }
    return "";
}

}  // namespace lowhiss::cli
