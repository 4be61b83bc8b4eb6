#include "lowhiss/series/part_effects.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <utility>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"

namespace lowhiss {
namespace {

/// The board with each part at the low end of its tolerance (-1), as drawn (0) or at the high end
/// (1).
Board at_ends(const Board& board, const std::vector<int>& ends) {
    Board result = board;
    for (std::size_t k = 0; k < ends.size(); ++k) {
        const Tolerance tolerance = tolerance_of(result.parts[k]);
        if (ends[k] != 0) stray(result.parts[k], ends[k] < 0 ? tolerance.low : tolerance.high);
    }
    return result;
}

/// The board with its variant's changes made and no changes left, so that each part is there once.
Board assembled_board(const Board& board, const std::string& variant) {
    Board assembled = with_variant(board, find_variant(board, variant));
    for (Variant& other : assembled.variants) other.changed.clear();
    return assembled;
}

std::vector<std::size_t> loose_parts(const Board& assembled) {
    std::vector<std::size_t> loose;
    for (std::size_t k = 0; k < assembled.parts.size(); ++k) {
        const Tolerance tolerance = tolerance_of(assembled.parts[k]);
        if (assembled.parts[k].fitted && tolerance.low < tolerance.high) loose.push_back(k);
    }
    return loose;
}

const Limit* limit_of(const Verdict& verdict, const std::vector<Limit>& limits) {
    const auto found = std::find_if(limits.begin(), limits.end(), [&](const Limit& limit) {
        return limit.name == verdict.limit && limit.measure->name == verdict.measure;
    });
    return found == limits.end() ? nullptr : &*found;
}

/// One assembly with its sensitivities by knob position.
class AssemblySensitivity {
  public:
    AssemblySensitivity(const Board& board, const std::string& capsule, const Plans& plans,
                        const std::vector<std::size_t>& parts)
        : assembly_(board, "", capsule, plans), parts_(parts) {}

    PartSensitivity& at(double knob) {
        const double rotation = std::isnan(knob) ? 0 : knob;
        auto& sensitivity = positions_[rotation];
        if (!sensitivity) {
            sensitivity = std::make_unique<PartSensitivity>(assembly_.setting(rotation), parts_);
        }
        return *sensitivity;
    }

    std::vector<PartSensitivity*> all() {
        std::vector<PartSensitivity*> sensitivities;
        for (const double rotation : assembly_.positions()) sensitivities.push_back(&at(rotation));
        return sensitivities;
    }

  private:
    Assembly assembly_;
    const std::vector<std::size_t>& parts_;
    std::map<double, std::unique_ptr<PartSensitivity>> positions_;
};

/// The sensitivities of all figures, with one PartSensitivity for each setting.
class Sensitivities {
  public:
    /// `assembled` has the variant's changes made.
    Sensitivities(const Board& assembled, std::string variant, const PlanShelf& plans,
                  std::vector<std::size_t> parts)
        : assembled_(assembled),
          variant_(std::move(variant)),
          plans_(plans),
          parts_(std::move(parts)) {}

    std::vector<double> of(const Verdict& verdict, const Limit* limit) {
        if (!limit || !std::isfinite(verdict.value)) return none();
        MeasureArguments arguments = limit->arguments;
        if (!limit->mask.empty()) arguments.at_hz = verdict.at_hz;
        return of(verdict.capsule, verdict.knob, record_of(*limit->measure), arguments);
    }

    std::vector<double> of(const Figure& figure) {
        if (!std::isfinite(figure.value)) return none();
        return of(figure.capsule, figure.knob, *figure.figure->measure, figure.figure->arguments);
    }

  private:
    std::vector<double> none() const {
        std::vector<double> slopes(parts_.size(), unset);
        return slopes;
    }

    std::vector<double> of(const std::string& capsule, double knob, const MeasureRecord& measure,
                           const MeasureArguments& arguments) {
        AssemblySensitivity& assembly = with(capsule);
        if (measure.over_knob) return slope_over_knob(measure, arguments, assembly.all());
        return slope_of(measure, arguments, assembly.at(knob));
    }

    AssemblySensitivity& with(const std::string& capsule) {
        auto& assembly = assemblies_[capsule];
        if (!assembly) {
            const auto plans = plans_.find({variant_, capsule});
            assembly = std::make_unique<AssemblySensitivity>(
                assembled_, capsule, plans == plans_.end() ? Plans() : plans->second, parts_);
        }
        return *assembly;
    }

    const Board& assembled_;
    std::string variant_;
    const PlanShelf& plans_;
    std::vector<std::size_t> parts_;
    std::map<std::string, std::unique_ptr<AssemblySensitivity>> assemblies_;
};

/// Infinite where the figure does not exist at an end.
double largest(const PartEffect& effect) {
    const double most = std::max(std::abs(effect.at_low_end), std::abs(effect.at_high_end));
    return std::isfinite(effect.at_low_end) && std::isfinite(effect.at_high_end) ? most : infinite;
}

}  // namespace

std::vector<double> shares_of_variance(const std::vector<PartEffect>& effects) {
    std::vector<double> shares;
    double sum = 0;
    for (const PartEffect& effect : effects) {
        const double width = effect.at_high_end - effect.at_low_end;
        shares.push_back(width * width);
        if (std::isfinite(width)) sum += shares.back();
    }
    for (double& share : shares) share = sum > 0 ? share / sum : 0;
    return shares;
}

std::vector<LimitEffects> find_effects(const Board& board, const std::string& variant,
                                       const std::vector<Limit>& limits,
                                       const std::vector<Verdict>& nominal) {
    const Board assembled = assembled_board(board, variant);
    CheckRequest request_of_all{&assembled, limits, false, false, {variant}};
    request_of_all.model_gaps = false;
    const PlanShelf plans = plans_for(request_of_all);
    // The value of every verdict with parts at these ends.
    const auto values_at = [&](const std::vector<int>& ends) {
        const Board moved = at_ends(assembled, ends);
        CheckRequest request{&moved, limits, false, false, {variant}, &plans};
        request.model_gaps = false;
        const BoardCheck check = std::move(check_boards({&request, 1}).front());
        std::vector<double> values;
        for (const Verdict& v : check.verdicts) values.push_back(v.value);
        return values;
    };
    const std::size_t count = assembled.parts.size();
    const std::vector<std::size_t> loose = loose_parts(assembled);
    std::vector<std::vector<double>> low(loose.size());
    std::vector<std::vector<double>> high(loose.size());
    for (std::size_t k = 0; k < loose.size(); ++k) {
        std::vector<int> ends(count);
        ends[loose[k]] = -1;
        low[k] = values_at(ends);
        ends[loose[k]] = 1;
        high[k] = values_at(ends);
    }
    Sensitivities sensitivities(assembled, variant, plans, loose);
    std::vector<LimitEffects> result(nominal.size());
    for (std::size_t i = 0; i < nominal.size(); ++i) {
        LimitEffects& limit = result[i];
        const std::vector<double> per_percent =
            sensitivities.of(nominal[i], limit_of(nominal[i], limits));
        std::vector<int> down(count);
        for (std::size_t k = 0; k < loose.size(); ++k) {
            const Part& part = assembled.parts[loose[k]];
            const PartEffect effect{part.name, tolerance_of(part), low[k][i] - nominal[i].value,
                                    high[k][i] - nominal[i].value, per_percent[k]};
            const bool ends_are_known =
                std::isfinite(effect.at_low_end) && std::isfinite(effect.at_high_end);
            if (!ends_are_known && !std::isfinite(effect.per_percent)) {
                limit.effects.push_back(effect);
                continue;
            }
            const bool rises = std::isfinite(effect.per_percent)
                                   ? effect.per_percent > 0
                                   : effect.at_low_end < effect.at_high_end;
            down[loose[k]] = rises ? -1 : 1;
            limit.effects.push_back(effect);
        }
        std::stable_sort(
            limit.effects.begin(), limit.effects.end(),
            [](const PartEffect& a, const PartEffect& b) { return largest(a) > largest(b); });
        std::vector<int> up = down;
        for (int& end : up) end = -end;
        limit.worst_case_low = values_at(down)[i];
        limit.worst_case_high = values_at(up)[i];
    }
    return result;
}

FigureSlopes find_slopes(const Board& board, const std::string& variant,
                         const std::vector<Figure>& nominal) {
    const Board assembled = assembled_board(board, variant);
    const std::vector<std::size_t> loose = loose_parts(assembled);
    const PlanShelf plans = plans_for({&assembled, {}, false, false, {variant}});
    Sensitivities sensitivities(assembled, variant, plans, loose);
    FigureSlopes result;
    for (const std::size_t k : loose) result.parts.push_back(assembled.parts[k].name);
    for (const Figure& figure : nominal) result.per_percent.push_back(sensitivities.of(figure));
    return result;
}

}  // namespace lowhiss
