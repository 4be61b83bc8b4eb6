#include "lowhiss/series/centring.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/preferred.hpp"

namespace lowhiss {
namespace {

constexpr double least_off_sigma = 0.25;
constexpr std::size_t most_parts = 6;
constexpr std::size_t most_series = 3;
constexpr double widest_change = 2;
/// A long series is not computed again as a whole: this many boards are enough to tell which value
/// is better.
constexpr std::size_t most_boards = 1000;

const LimitSpread* limit_to_centre(const Spread& spread) {
    const LimitSpread* most_failed = nullptr;
    for (const LimitSpread& limit : spread.limits) {
        const Verdict& v = limit.nominal;
        const bool two_bounds = !v.is_mask && std::isfinite(v.min) && std::isfinite(v.max);
        const bool failed = limit.yield.good < limit.yield.count && limit.statistics.sigma > 0;
        if (!two_bounds || !failed || std::isnan(v.value)) continue;
        if (!most_failed || limit.yield.good < most_failed->yield.good) most_failed = &limit;
    }
    return most_failed;
}

double off_sigma(const Verdict& v, double sigma) {
    return (v.value - (v.min + v.max) / 2) / sigma;
}

/// The parts that have to keep the same value: those of a matched group that have it.
std::vector<std::string> together_with(const Board& board, const Part& part) {
    const auto value_of = [](const Part& each) {
        PartData data = each.data;
        return schema_of(each).fields.front().slot(data);
    };
    for (const Matched& group : board.matched) {
        const auto& names = group.parts;
        if (std::find(names.begin(), names.end(), part.name) == names.end()) continue;
        std::vector<std::string> alike;
        for (const std::string& name : names) {
            const Part* other = find_part(board, name);
            if (other && &schema_of(*other) == &schema_of(part) &&
                value_of(*other) == value_of(part)) {
                alike.push_back(name);
            }
        }
        return alike;
    }
    return {part.name};
}

/// The plain board and its variants with another value of these parts.
Board with_value(Board board, const std::vector<std::string>& names, double value) {
    const auto change = [&](std::vector<Part>& parts) {
        for (Part& part : parts) {
            if (std::find(names.begin(), names.end(), part.name) == names.end()) continue;
            schema_of(part).fields.front().slot(part.data) = value;
        }
    };
    change(board.parts);
    for (Variant& variant : board.variants) change(variant.changed);
    return board;
}

bool is_choosable(const Part& part) {
    return std::holds_alternative<Resistor>(part.data) ||
           std::holds_alternative<Capacitor>(part.data) ||
           std::holds_alternative<Inductor>(part.data);
}

/// The parts that move the limit's figure most, each with those of its matched group.
std::vector<std::vector<std::string>> candidates(const Board& assembled, const LimitSpread& limit) {
    std::vector<std::vector<std::string>> all;
    for (const PartEffect& effect : limit.parts.effects) {
        std::string name = effect.draw.name;
        if (effect.draw.kind == DrawKind::group) {
            const auto group = std::find_if(assembled.matched.begin(), assembled.matched.end(),
                                            [&](const Matched& each) { return each.name == name; });
            if (group == assembled.matched.end() || group->parts.empty()) continue;
            name = group->parts.front();
        } else if (effect.draw.kind != DrawKind::part) {
            continue;
        }
        const Part* part = find_part(assembled, name);
        if (!part || !is_choosable(*part)) continue;
        std::vector<std::string> names = together_with(assembled, *part);
        if (std::find(all.begin(), all.end(), names) == all.end()) all.push_back(std::move(names));
        if (all.size() == most_parts) break;
    }
    return all;
}

/// The limits of the board with another value; the plans of the drawn one serve it.
class Trial {
  public:
    Trial(const Board& board, const SpreadRequest& request, const LimitSpread& limit,
          std::size_t place)
        : board_(board), request_(request), limit_(limit), place_(place) {
        plans_ = plans_for(check_of(board));
    }

    /// Tries the preferred values of one part, and adds to `found` the one that brings the figure
    /// nearest to the middle.
    void try_parts(const std::vector<std::string>& names, const Board& assembled,
                   const Watch& watch, std::vector<Centring>& found) const {
        const Part& part = *find_part(assembled, names.front());
        const auto& field = schema_of(part).fields.front();
        PartData data = part.data;
        Centring best;
        best.limit = limit_.nominal;
        best.off_sigma = off_sigma(limit_.nominal, limit_.statistics.sigma);
        best.off_sigma_then = best.off_sigma;
        best.parts = names;
        best.unit = field.unit;
        best.drawn = field.slot(data);
        best.series = series_for(tolerance_of(part));
        for (const double value : preferred_values(best.series, best.drawn / widest_change,
                                                   best.drawn * widest_change)) {
            if (watch.stop()) return;
            const Board changed = with_value(board_, names, value);
            const std::vector<Verdict> verdicts = check_board(check_of(changed)).verdicts;
            if (!std::all_of(verdicts.begin(), verdicts.end(), is_good)) continue;
            const double off = off_sigma(verdicts[place_], limit_.statistics.sigma);
            if (!(std::abs(off) < std::abs(best.off_sigma_then))) continue;
            best.off_sigma_then = off;
            best.value = value;
        }
        if (!std::isnan(best.value)) found.push_back(std::move(best));
    }

  private:
    CheckRequest check_of(const Board& board) const {
        CheckRequest check{&board, request_.limits, false, false, {request_.variant}};
        check.model_gaps = false;
        check.plans = plans_.empty() ? nullptr : &plans_;
        return check;
    }

    const Board& board_;
    const SpreadRequest& request_;
    const LimitSpread& limit_;
    std::size_t place_;
    PlanShelf plans_;
};

}  // namespace

std::string series_for(const Tolerance& tolerance) {
    const double size = std::max(-tolerance.low, tolerance.high);
    constexpr double rounding = 1 + 1e-9;
    if (size <= 0.005 * rounding) return "E192";
    if (size <= 0.01 * rounding) return "E96";
    if (size <= 0.02 * rounding) return "E48";
    if (size <= 0.05 * rounding) return "E24";
    if (size <= 0.10 * rounding) return "E12";
    return size <= 0.20 * rounding ? "E6" : "E3";
}

std::optional<Centring> find_centring(const Board& board, const SpreadRequest& request,
                                      const Spread& spread, const Watch& watch) {
    const LimitSpread* limit = limit_to_centre(spread);
    if (!limit) return std::nullopt;
    const double off = off_sigma(limit->nominal, limit->statistics.sigma);
    if (std::abs(off) < least_off_sigma) return std::nullopt;
    const Board assembled = assembled_board(board, request.variant);
    const Trial trial(board, request, *limit,
                      static_cast<std::size_t>(limit - spread.limits.data()));
    std::vector<Centring> found;
    for (const auto& names : candidates(assembled, *limit)) {
        trial.try_parts(names, assembled, watch, found);
    }
    std::stable_sort(found.begin(), found.end(), [](const Centring& a, const Centring& b) {
        return std::abs(a.off_sigma_then) < std::abs(b.off_sigma_then);
    });
    SpreadRequest again = request;
    again.figures = false;
    again.count = std::min(request.count, most_boards);
    const bool whole = spread.yield.count == again.count;
    const Yield drawn =
        whole || found.empty() ? spread.yield : yield_of_boards(board, again, watch);
    for (std::size_t k = 0; k < std::min(found.size(), most_series) && !watch.stop(); ++k) {
        found[k].yield = drawn;
        found[k].yield_then =
            yield_of_boards(with_value(board, found[k].parts, found[k].value), again, watch);
        const bool complete = found[k].yield_then.count == drawn.count;
        if (complete && found[k].yield_then.good > drawn.good) return found[k];
    }
    return std::nullopt;
}

}  // namespace lowhiss
