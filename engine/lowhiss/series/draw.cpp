#include "lowhiss/series/draw.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "lowhiss/board/schema.hpp"

namespace lowhiss {
namespace {

const Matched* group_of(const Board& board, const std::string& part) {
    for (const Matched& group : board.matched) {
        if (std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end()) {
            return &group;
        }
    }
    return nullptr;
}

std::span<const Field<OpAmpModel>> own_fields(const OpAmpModel&) {
    return opamp_fields();
}
std::span<const Field<PreampIcModel>> own_fields(const PreampIcModel&) {
    return preamp_ic_fields();
}

/// Makes one board from the drawn one.
class BoardMaker {
  public:
    using Value = std::function<double(const Draw&)>;

    BoardMaker(const Board& drawn, const Value& value)
        : drawn_(drawn), value_(value), made_(drawn) {}

    Board make() {
        if (const auto& range = drawn_.temperature_range) {
            made_.temperature_k = value_({DrawKind::temperature, "", range->low_k, range->high_k});
        }
        for (Part& part : made_.parts) make(part);
        for (Variant& variant : made_.variants) {
            for (Part& part : variant.changed) make(part);
        }
        return std::move(made_);
    }

  private:
    void make(Part& part) {
        spread(part);
        warm(part);
        if (auto* opamp = std::get_if<OpAmp>(&part.data)) {
            give_own_model(part.name, opamp->model, drawn_.models.opamps, made_.models.opamps);
        }
        if (auto* ic = std::get_if<PreampIc>(&part.data)) {
            give_own_model(part.name, ic->model, drawn_.models.preamp_ics, made_.models.preamp_ics);
        }
        if (auto* bipolar = std::get_if<Bipolar>(&part.data)) {
            give_own_transistor(part.name, bipolar->model, bipolar_fields(), drawn_.models.bipolars,
                                made_.models.bipolars);
        }
        if (auto* jfet = std::get_if<Jfet>(&part.data)) {
            give_own_transistor(part.name, jfet->model, jfet_fields(), drawn_.models.jfets,
                                made_.models.jfets);
        }
    }

    void spread(Part& part) const {
        const Tolerance tolerance = tolerance_of(part);
        if (tolerance.low == 0 && tolerance.high == 0) return;
        if (const Matched* group = group_of(drawn_, part.name)) {
            const double shared =
                value_({DrawKind::group, group->name, tolerance.low, tolerance.high});
            const double own = value_({DrawKind::part, part.name, -group->within, group->within});
            stray(part, shared + own);
        } else {
            stray(part, value_({DrawKind::part, part.name, tolerance.low, tolerance.high}));
        }
    }

    /// Parts of one reel have their temperature coefficient in common.
    void warm(Part& part) const {
        const TemperatureCoefficient coefficient = temperature_coefficient_of(part);
        const double warmer_k = made_.temperature_k - drawn_.temperature_k;
        if (warmer_k == 0 || (coefficient.low_per_k == 0 && coefficient.high_per_k == 0)) return;
        const Matched* group = group_of(drawn_, part.name);
        const double middle = std::midpoint(coefficient.low_per_k, coefficient.high_per_k);
        const double reach = coefficient.high_per_k - middle;
        const double off = value_(
            {group ? DrawKind::group_temperature_coefficient : DrawKind::temperature_coefficient,
             group ? group->name : part.name, -reach, reach});
        stray(part, warmer_k * (middle + off));
    }

    /// A copy of the model for this part alone, with figures between typical and worst.
    template <class Models>
    void give_own_model(const std::string& part, std::string& name, const Models& drawn,
                        Models& made) const {
        auto model = drawn.find(name)->second;
        if (model.worst.empty()) return;
        for (const WorstFigure& worst : model.worst) {
            const double share =
                value_({DrawKind::model, fmt::format("{}.{}", part, worst.key), 0, 1});
            if (const auto* own = find_field(own_fields(model), worst.key)) {
                worsen(own->slot(model), worst, own->unit, share);
            } else if (const auto* common = find_field(amplifier_fields(), worst.key)) {
                worsen(common->slot(model.common), worst, common->unit, share);
            }
        }
        keep_own_model(part, name, std::move(model), made);
    }

    template <class Model, class Models>
    void give_own_transistor(const std::string& part, std::string& name,
                             std::span<const Field<Model>> fields, const Models& drawn,
                             Models& made) const {
        Model model = drawn.find(name)->second;
        if (model.worst.empty() && model.spread.figures.empty()) return;
        const Matched* group = group_of(drawn_, part);
        const std::string who = group ? group->name + " (matched)" : part;
        for (const WorstFigure& worst : model.worst) {
            const Field<Model>& field = *find_field(fields, worst.key);
            const double share =
                value_({DrawKind::model, fmt::format("{}.{}", who, worst.key), 0, 1});
            worsen(field.slot(model), worst, field.unit, share);
        }
        spread_together(who, fields, model);
        if (group) part_from_pair(part, group->within, fields, model);
        keep_own_model(part, name, std::move(model), made);
    }

    /// Each figure's place between its ends, -1 to 1 with the model's own at 0, is w s + (1 - w) o
    /// of two uniform numbers: s, common to all figures, and o, its own. The correlation of two
    /// figures' places is w^2 / (w^2 + (1 - w)^2).
    template <class Model>
    void spread_together(const std::string& part, std::span<const Field<Model>> fields,
                         Model& model) const {
        const ModelSpread& spread = model.spread;
        if (spread.figures.empty()) return;
        const double weight =
            spread.correlation > 0 ? 1 / (1 + std::sqrt(1 / spread.correlation - 1)) : 0;
        const double common = weight > 0 ? value_({DrawKind::spread, part + ".spread", -1, 1}) : 0;
        for (const SpreadFigure& figure : spread.figures) {
            const double own =
                weight < 1
                    ? value_({DrawKind::spread, fmt::format("{}.{}", part, figure.key), -1, 1})
                    : 0;
            const double place = weight * common + (1 - weight) * own;
            double& value = find_field(fields, figure.key)->slot(model);
            value = std::lerp(value, place < 0 ? figure.low : figure.high, std::abs(place));
        }
    }

    /// The deviation of a matched transistor's own figures from those drawn for its group.
    template <class Model>
    void part_from_pair(const std::string& part, double within,
                        std::span<const Field<Model>> fields, Model& model) const {
        for (const SpreadFigure& figure : model.spread.figures) {
            const std::string name = fmt::format("{}.{} of its own", part, figure.key);
            find_field(fields, figure.key)->slot(model) *=
                1 + value_({DrawKind::spread, name, -within, within});
        }
    }

    template <class Model, class Models>
    static void keep_own_model(const std::string& part, std::string& name, Model model,
                               Models& made) {
        name = fmt::format("{} ({})", name, part);
        while (made.contains(name)) name += "'";
        made.emplace(name, std::move(model));
    }

    /// Data sheets have ratios in decibels, so these are interpolated in decibels.
    static void worsen(double& figure, const WorstFigure& worst, Unit unit, double share) {
        figure = unit == Unit::ratio ? figure * std::pow(worst.value / figure, share)
                                     : std::lerp(figure, worst.value, share);
    }

    const Board& drawn_;
    const Value& value_;
    Board made_;
};

double drawn_value(const Draw& draw, const Board& board) {
    return draw.kind == DrawKind::temperature ? board.temperature_k : 0;
}

}  // namespace

std::string text_of(const Draw& draw) {
    switch (draw.kind) {
        case DrawKind::part:
            return draw.name;
        case DrawKind::group:
            return draw.name + " (matched)";
        case DrawKind::temperature:
            return "temperature";
        case DrawKind::temperature_coefficient:
            return draw.name + " temperature coefficient";
        case DrawKind::group_temperature_coefficient:
            return draw.name + " (matched) temperature coefficient";
        case DrawKind::spread:
        case DrawKind::model: {
            std::string text = draw.name;
            text[text.rfind('.')] = ' ';
            return text;
        }
    }
    return "";
}

Board board_with(const Board& board, const std::function<double(const Draw&)>& value) {
    return BoardMaker(board, value).make();
}

std::vector<Draw> draws_of(const Board& assembled) {
    Board fitted = assembled;
    fitted.variants.clear();
    std::erase_if(fitted.parts, [](const Part& part) { return !part.fitted; });
    std::vector<Draw> draws;
    // At one end of its range the temperature may be the board's own, where no coefficient counts.
    for (const bool warm : {false, true}) {
        board_with(fitted, [&](const Draw& draw) {
            const bool known = std::any_of(draws.begin(), draws.end(), [&](const Draw& other) {
                return other.kind == draw.kind && other.name == draw.name;
            });
            if (!known && draw.low < draw.high) draws.push_back(draw);
            if (draw.kind == DrawKind::temperature) return warm ? draw.high : draw.low;
            return 0.0;
        });
    }
    return draws;
}

Board corner_board(const Board& board, const std::vector<Draw>& draws,
                   const std::vector<End>& ends) {
    std::map<std::pair<DrawKind, std::string_view>, End> end_of;
    for (std::size_t k = 0; k < draws.size(); ++k) {
        end_of[{draws[k].kind, draws[k].name}] = ends[k];
    }
    return board_with(board, [&](const Draw& draw) {
        const auto found = end_of.find({draw.kind, draw.name});
        if (found == end_of.end() || found->second == End::drawn) return drawn_value(draw, board);
        return found->second == End::low ? draw.low : draw.high;
    });
}

}  // namespace lowhiss
