#include "lowhiss/series/part_effects.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <utility>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"

namespace lowhiss {
namespace {

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
        if (measure.cusp) return none();
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

/// The larger of the two effects; infinite if the figure does not exist at an end.
double largest(const PartEffect& effect) {
    if (!std::isfinite(effect.at_low_end) || !std::isfinite(effect.at_high_end)) return infinite;
    return std::max(std::abs(effect.at_low_end), std::abs(effect.at_high_end));
}

}  // namespace

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

double slope_of_draw(const Draw& draw, const Board& assembled,
                     const std::vector<std::size_t>& parts, const std::vector<double>& slopes) {
    const auto slope_of_part = [&](const std::string& name) {
        for (std::size_t k = 0; k < parts.size(); ++k) {
            if (assembled.parts[parts[k]].name == name) return slopes[k];
        }
        return 0.0;  // not fitted
    };
    if (draw.kind == DrawKind::part) return slope_of_part(draw.name);
    if (draw.kind != DrawKind::group) return unset;
    const auto group =
        std::find_if(assembled.matched.begin(), assembled.matched.end(),
                     [&](const Matched& matched) { return matched.name == draw.name; });
    double sum = 0;
    for (const std::string& part : group->parts) sum += slope_of_part(part);
    return sum;
}

std::vector<LimitEffects> find_effects(const Board& board, const std::string& variant,
                                       const std::vector<Limit>& limits,
                                       const std::vector<Verdict>& nominal) {
    const Board assembled = assembled_board(board, variant);
    CheckRequest request_of_all{&assembled, limits, false, false, {variant}};
    request_of_all.model_gaps = false;
    const PlanShelf plans = plans_for(request_of_all);
    const std::vector<Draw> draws = draws_of(assembled);
    // The figure of every verdict, by draw: at its low end, then at its high end.
    std::vector<std::vector<double>> moved(2 * draws.size());
    on_all_cores(moved.size(), [&](std::size_t k) {
        std::vector<End> ends(draws.size(), End::drawn);
        ends[k / 2] = k % 2 == 0 ? End::low : End::high;
        const Board at_end = corner_board(assembled, draws, ends);
        CheckRequest request{&at_end, limits, false, false, {variant}, &plans};
        request.model_gaps = false;
        const BoardCheck check = check_board(request);
        for (const Verdict& v : check.verdicts) {
            moved[k].push_back(figure_of(v.is_mask, v.value, v.margin));
        }
    });
    const std::vector<std::size_t> loose = loose_parts(assembled);
    Sensitivities sensitivities(assembled, variant, plans, loose);
    std::vector<LimitEffects> result(nominal.size());
    for (std::size_t i = 0; i < nominal.size(); ++i) {
        const double drawn = figure_of(nominal[i].is_mask, nominal[i].value, nominal[i].margin);
        const std::vector<double> slopes =
            sensitivities.of(nominal[i], limit_of(nominal[i], limits));
        std::vector<PartEffect>& effects = result[i].effects;
        for (std::size_t k = 0; k < draws.size(); ++k) {
            effects.push_back({draws[k], moved[2 * k][i] - drawn, moved[2 * k + 1][i] - drawn,
                               slope_of_draw(draws[k], assembled, loose, slopes)});
        }
        std::stable_sort(
            effects.begin(), effects.end(),
            [](const PartEffect& a, const PartEffect& b) { return largest(a) > largest(b); });
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
