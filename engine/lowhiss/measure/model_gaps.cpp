#include "lowhiss/measure/model_gaps.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/model_figures.hpp"
#include "lowhiss/measure/rejection.hpp"

namespace lowhiss {
namespace {

/// A smaller part of the drift that a measure is allowed counts as no change.
constexpr double noticeable_drift = 0.1;

bool is_transistor(const PartData& data) {
    return std::holds_alternative<Bipolar>(data) || std::holds_alternative<Jfet>(data);
}

const model_figures::PoorFigure* poor_figure(const PartData& data, std::string_view key) {
    const std::span<const model_figures::PoorFigure> all =
        is_transistor(data)
            ? std::span(model_figures::transistor_figures)
            : std::span<const model_figures::PoorFigure>(model_figures::amplifier_figures);
    const auto poor =
        std::find_if(all.begin(), all.end(), [&](const auto& f) { return f.key == key; });
    return poor == all.end() ? nullptr : &*poor;
}

/// The figures that the part's model leaves out and that a measure rests on.
std::vector<std::string_view> missing_of(const Part& part, const Models& models) {
    std::vector<std::string_view> missing;
    if (!part.fitted) return missing;
    if (const auto* opamp = std::get_if<OpAmp>(&part.data)) {
        missing = models.opamps.find(opamp->model)->second.missing;
    } else if (const auto* ic = std::get_if<PreampIc>(&part.data)) {
        missing = models.preamp_ics.find(ic->model)->second.missing;
    } else if (const auto* bipolar = std::get_if<Bipolar>(&part.data)) {
        missing = models.bipolars.find(bipolar->model)->second.missing;
    } else if (const auto* jfet = std::get_if<Jfet>(&part.data)) {
        missing = models.jfets.find(jfet->model)->second.missing;
    }
    std::erase_if(missing,
                  [&](std::string_view key) { return poor_figure(part.data, key) == nullptr; });
    return missing;
}

const PartData& part_of(const Board& board, const ModelGap& gap) {
    return find_part(board, gap.parts.front())->data;
}

template <class Model>
void set_figure(std::span<const Field<Model>> own, std::string_view key, double value,
                Model& model) {
    if (const auto* field = find_field(own, key)) {
        field->slot(model) = value;
    } else if (const auto* common = find_field(amplifier_fields(), key)) {
        common->slot(model.common) = value;
    }
}

template <class Model>
void set_transistor_figure(std::span<const Field<Model>> list, std::string_view key, double value,
                           Model& model) {
    if (const auto* field = find_field(list, key)) field->slot(model) = value;
}

void make_poor(const PartData& part, const std::string& name, std::string_view key,
               Models& models) {
    const double value = poor_figure(part, key)->value;
    if (std::holds_alternative<OpAmp>(part)) {
        set_figure(opamp_fields(), key, value, models.opamps.find(name)->second);
    } else if (std::holds_alternative<PreampIc>(part)) {
        set_figure(preamp_ic_fields(), key, value, models.preamp_ics.find(name)->second);
    } else if (std::holds_alternative<Bipolar>(part)) {
        set_transistor_figure(bipolar_fields(), key, value, models.bipolars.find(name)->second);
    } else {
        set_transistor_figure(jfet_fields(), key, value, models.jfets.find(name)->second);
    }
}

/// The missing figures that the measure rests on.
std::vector<std::string_view> missing_for(const MeasureRecord& measure, const ModelGap& gap) {
    std::vector<std::string_view> keys;
    for (const std::string_view key : measure.rests_on) {
        if (std::find(gap.keys.begin(), gap.keys.end(), key) != gap.keys.end()) keys.push_back(key);
    }
    return keys;
}

bool differ(double value, double poor, const Drift& allowed) {
    if (std::isnan(value) || std::isnan(poor)) return std::isnan(value) != std::isnan(poor);
    if (value == poor) return false;
    const double change = allowed.relative ? poor / value - 1 : poor - value;
    return !(std::abs(change) < noticeable_drift * allowed.size);
}

double value_or_unset(const MeasureRecord& measure, const MeasureArguments& arguments,
                      Setting& setting) {
    try {
        return measure.at_setting(setting, arguments).value;
    } catch (const Error&) {
        return unset;
    }
}

/// A gap that the measure has already, for other arguments, gets the further keys.
void add_gaps(const MeasureRecord& measure, std::vector<ModelGap> gaps,
              std::vector<AssumedIdeal>& all) {
    for (ModelGap& gap : gaps) {
        const auto known = std::find_if(all.begin(), all.end(), [&](const AssumedIdeal& each) {
            return each.measure == measure.name && each.gap.model == gap.model &&
                   each.gap.parts == gap.parts;
        });
        if (known == all.end()) {
            all.push_back({measure.name, std::move(gap)});
            continue;
        }
        for (const std::string_view key : gap.keys) {
            auto& keys = known->gap.keys;
            if (std::find(keys.begin(), keys.end(), key) == keys.end()) keys.push_back(key);
        }
    }
}

/// The arguments for which a measure is tried: 1 kHz, and 20 kHz, where an amplifier slews first,
/// if it takes a frequency; each supply, if it takes a part.
std::vector<MeasureArguments> usual_arguments(const MeasureSchema& measure, Setting& setting) {
    std::vector<MeasureArguments> all{{}};
    if (measure.takes_at) {
        all.emplace_back();
        all.back().at_hz = Band{}.to_hz;
    }
    if (!measure.takes_part) return all;
    std::vector<MeasureArguments> of_parts;
    for (const std::string& source : supply_sources(setting)) {
        for (MeasureArguments arguments : all) {
            arguments.part = source;
            of_parts.push_back(std::move(arguments));
        }
    }
    return of_parts;
}

}  // namespace

std::string text_of(const ModelGap& gap) {
    return fmt::format("{}: {} has no {}", fmt::join(gap.parts, ", "), gap.model,
                       fmt::join(gap.keys, ", "));
}

std::string text_of(const std::vector<ModelGap>& gaps) {
    std::vector<std::string> texts;
    texts.reserve(gaps.size());
    for (const ModelGap& gap : gaps) texts.push_back(text_of(gap));
    return fmt::format("{}", fmt::join(texts, "; "));
}

ModelGaps::ModelGaps(const Board& assembled) : board_(assembled) {
    for (const Part& part : board_.parts) {
        std::vector<std::string_view> missing = missing_of(part, board_.models);
        if (missing.empty()) continue;
        const std::string& model = *model_name(part.data);
        const auto known = std::find_if(gaps_.begin(), gaps_.end(), [&](const ModelGap& gap) {
            return gap.model == model && part_of(board_, gap).index() == part.data.index();
        });
        if (known != gaps_.end())
            known->parts.push_back(part.name);
        else
            gaps_.push_back({{part.name}, model, std::move(missing)});
    }
}

std::vector<ModelGap> ModelGaps::behind(const MeasureRecord& measure,
                                        const MeasureArguments& arguments, Setting& setting,
                                        double value) {
    std::vector<ModelGap> found;
    if (!measure.at_setting) return found;
    for (const ModelGap& gap : gaps_) {
        ModelGap own{gap.parts, gap.model, {}};
        for (const std::string_view key : missing_for(measure, gap)) {
            if (moves(measure, arguments, setting, value, gap, key)) own.keys.push_back(key);
        }
        if (!own.keys.empty()) found.push_back(std::move(own));
    }
    return found;
}

std::vector<AssumedIdeal> ModelGaps::at(Setting& setting) {
    std::vector<AssumedIdeal> all;
    if (!any()) return all;
    for (const MeasureRecord& measure : measure_records()) {
        if (!may_lack_figures(measure)) continue;
        for (const MeasureArguments& arguments : usual_arguments(*measure.schema, setting)) {
            const double value = value_or_unset(measure, arguments, setting);
            add_gaps(measure, behind(measure, arguments, setting, value), all);
        }
    }
    return all;
}

bool ModelGaps::may_lack_figures(const MeasureRecord& measure) const {
    return measure.at_setting != nullptr &&
           std::any_of(gaps_.begin(), gaps_.end(),
                       [&](const ModelGap& gap) { return !missing_for(measure, gap).empty(); });
}

std::vector<AssumedIdeal> ModelGaps::of(std::initializer_list<std::string_view> measures,
                                        Setting& setting) {
    std::vector<AssumedIdeal> all;
    for (const std::string_view name : measures) {
        const MeasureRecord& measure = *find_measure(name);
        const double value = value_or_unset(measure, {}, setting);
        add_gaps(measure, behind(measure, {}, setting, value), all);
    }
    return all;
}

bool ModelGaps::moves(const MeasureRecord& measure, const MeasureArguments& arguments,
                      Setting& setting, double value, const ModelGap& gap, std::string_view key) {
    try {
        Setting& poor = poor_setting(setting, gap, key);
        return differ(value, measure.at_setting(poor, arguments).value, measure.schema->drift);
    } catch (const Error&) {
        return true;
    }
}

void ModelGaps::forget(double angle) {
    std::erase_if(poor_, [angle](const auto& entry) { return std::get<0>(entry.first) == angle; });
}

Setting& ModelGaps::poor_setting(Setting& setting, const ModelGap& gap, std::string_view key) {
    const PartData& part = part_of(board_, gap);
    PoorBoard& poor = poor_[{setting.angle(), part.index(), gap.model, key}];
    if (!poor.setting) {
        poor.board = board_;
        make_poor(part, gap.model, key, poor.board.models);
        poor.setting = std::make_unique<Setting>(poor.board, setting.capsule(), setting.angle(),
                                                 setting.plans());
    } else if (!poor.setting->plans().resistive) {
        // The setting may have got its plan for other sources since then.
        poor.setting->use(setting.plans());
    }
    return *poor.setting;
}

IdealFigure place_of_ideal(const MeasureRecord& measure, const std::vector<ModelGap>& gaps) {
    const auto either_way = [&](std::string_view key) {
        return std::ranges::any_of(model_figures::transistor_figures,
                                   [&](const auto& f) { return f.key == key && f.either_way; });
    };
    const bool any = std::any_of(gaps.begin(), gaps.end(), [&](const ModelGap& gap) {
        return std::any_of(gap.keys.begin(), gap.keys.end(), either_way);
    });
    return any ? IdealFigure::either : measure.ideal;
}

}  // namespace lowhiss
