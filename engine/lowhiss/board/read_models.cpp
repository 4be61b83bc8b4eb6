#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr const char* resonance_list =
    R"(a list: [{ frequency = "150 Hz", q = 2, resistance = "110R" }])";
constexpr std::string_view ideal_word = "ideal";
constexpr const char* worst_table = R"(a table: { voltage_noise = "6 nV/rtHz" })";
constexpr const char* spread_table =
    R"(a table: { saturation_current = ["2 mA", "6 mA"], correlation = 0.9 })";
constexpr const char* bandwidth_list = R"([[1, "4 MHz"], [1000, "200 kHz"]])";

/// The range of a figure over transistors of every kind, with room on either side; common practice,
/// no source.
struct PossibleFigure {
    std::string_view key;
    double least;
    double most;
};
constexpr auto possible_figures = std::to_array<PossibleFigure>({
    {"base_emitter_voltage", 0.05, 1.5},
    {"transition_frequency", 1e4, 1e12},
    {"saturation_current", 1e-7, 100},
    {"pinch_off_voltage", 1e-2, 100},
    {"gate_current", 0, 1e-3},
});

class ModelReader {
  public:
    ModelReader(const Node::Table& table, Position at, std::string subject, Diagnostics& out)
        : table_(table), at_(std::move(at)), subject_(std::move(subject)), out_(out) {}

    OpAmpModel opamp() {
        OpAmpModel model;
        amplifier(opamp_fields(), model);
        model.worst = worst(opamp_fields());
        model.source = source();
        model.pinout = pinout();
        reject_unknown_keys(table_, accepted_, subject_, out_);
        return model;
    }

    PreampIcModel preamp_ic() {
        PreampIcModel model;
        amplifier(preamp_ic_fields(), model);
        read_bandwidth(model);
        model.worst = worst(preamp_ic_fields());
        model.source = source();
        model.pinout = pinout();
        reject_unknown_keys(table_, accepted_, subject_, out_);
        return model;
    }

    BipolarModel bipolar() {
        BipolarModel model;
        model.pnp = is_second("polarity", {"npn", "pnp"});
        transistor(bipolar_fields(), model);
        return model;
    }

    JfetModel jfet() {
        JfetModel model;
        model.p_channel = is_second("polarity", {"n", "p"});
        transistor(jfet_fields(), model);
        return model;
    }

    BatteryModel battery() {
        BatteryModel model;
        fields(battery_fields(), model);
        model.source = source();
        reject_unknown_keys(table_, accepted_, subject_, out_);
        if (model.empty_v > model.nominal_v || model.nominal_v > model.full_v) {
            out_.push_back(error_at(
                at_, "bad-battery", subject_, "the voltages do not fall from full to empty",
                "full, nominal and empty, each no higher than the previous one"));
        }
        return model;
    }

    Capsule capsule(const FileReader& reader) {
        const CapsuleSchema* schema = capsule_schema();
        if (!schema) return {};
        Capsule capsule = schema->blank;
        capsule.at = at_;
        fields(schema->fields, capsule);
        if (auto* dynamic = std::get_if<DynamicCapsule>(&capsule.impedance)) {
            read_resonances(*dynamic);
        }
        if (auto* measured = std::get_if<MeasuredCapsule>(&capsule.impedance)) {
            read_measurement(*measured, reader);
        }
        capsule.source = source();
        reject_unknown_keys(table_, accepted_, subject_, out_);
        return capsule;
    }

  private:
    template <class Owner>
    void fields(std::span<const Field<Owner>> list, Owner& owner) {
        read_fields(table_, list, owner, subject_, at_, false, accepted_, out_);
    }

    template <class Model>
    void amplifier(std::span<const Field<Model>> own, Model& model) {
        const Node::Table stated = without_ideal(own);
        read_fields(stated, own, model, subject_, at_, false, accepted_, out_);
        read_fields(stated, amplifier_fields(), model.common, subject_, at_, false, accepted_,
                    out_);
        add_missing(own, model.missing);
        add_missing(amplifier_fields(), model.missing);
    }

    template <class Model>
    void transistor(std::span<const Field<Model>> list, Model& model) {
        read_fields(without_ideal(list), list, model, subject_, at_, false, accepted_, out_);
        add_missing(list, model.missing);
        reject_impossible_figures(list, model);
        accepted_.emplace_back("worst");
        if (const Node::Table* table = sub_table("worst", worst_table)) {
            std::vector<std::string> accepted;
            read_worst(*table, list, accepted, model.worst);
            reject_unknown_keys(*table, accepted, subject_ + ".worst", out_);
        }
        accepted_.emplace_back("spread");
        if (const Node::Table* table = sub_table("spread", spread_table)) {
            read_spread(*table, list, model);
        }
        model.source = source();
        reject_unknown_keys(table_, accepted_, subject_, out_);
    }

    /// A figure that no transistor has is a slip of the unit, and would make the transistor's law
    /// underflow.
    template <class Model>
    void reject_impossible_figures(std::span<const Field<Model>> list, Model& model) {
        for (const PossibleFigure& possible : possible_figures) {
            const Field<Model>* field = find_field(list, possible.key);
            const Member* member = field ? find(table_, possible.key) : nullptr;
            if (!member || is_ideal(member->value)) continue;
            const double value = field->slot(model);
            if (!(value < possible.least || value > possible.most)) continue;
            const auto text = [&](double figure) { return print_quantity(figure, field->unit, 4); };
            out_.push_back(error_at(
                member->value.at, "out-of-range", fmt::format("{}.{}", subject_, possible.key),
                fmt::format("no transistor has {}", text(value)),
                fmt::format("{} to {}", text(possible.least), text(possible.most)),
                "check the unit and its prefix: M is mega, m is milli, u is micro"));
        }
    }

    const Node::Table* sub_table(const char* key, const char* accepted) {
        const Member* member = find(table_, key);
        return member
                   ? read_table(member->value, fmt::format("{}.{}", subject_, key), out_, accepted)
                   : nullptr;
    }

    /// Reads `spread`: two ends for a figure, on either side of the model's own.
    template <class Model>
    void read_spread(const Node::Table& table, std::span<const Field<Model>> list, Model& model) {
        std::vector<std::string> accepted{"correlation"};
        for (const Field<Model>& field : list) {
            const std::string& key = accepted.emplace_back(field.key);
            const Member* ends = find(table, key);
            if (!ends) continue;
            const std::string subject = fmt::format("{}.spread.{}", subject_, key);
            const auto both =
                read_interval(ends->value, field.unit, field.range, field.range, subject, out_);
            if (!both) continue;
            const double own = field.slot(model);
            const auto* worst = find_worst(model.worst, field.key);
            if (!(both->low <= own && own <= both->high)) {
                out_.push_back(error_at(ends->value.at, "bad-spread", subject,
                                        find(table_, key)
                                            ? fmt::format("the model's own {} lies outside", key)
                                            : fmt::format("the model has no {} of its own", key),
                                        "[lowest, highest] with the model's own figure between"));
            } else if (worst) {
                out_.push_back(error_at(ends->value.at, "bad-spread", subject,
                                        fmt::format("{} also has a worst figure", key),
                                        "a spread or a worst figure, not both"));
            } else {
                model.spread.figures.push_back({field.key, both->low, both->high});
            }
        }
        if (const Member* correlation = find(table, "correlation")) {
            model.spread.correlation =
                read_figure(correlation->value, Unit::number, Range::zero_to_one,
                            subject_ + ".spread.correlation", out_)
                    .value_or(0);
        }
        reject_unknown_keys(table, accepted, subject_ + ".spread", out_);
    }

    static const WorstFigure* find_worst(const std::vector<WorstFigure>& worst,
                                         std::string_view key) {
        const auto found = std::find_if(worst.begin(), worst.end(),
                                        [&](const WorstFigure& w) { return w.key == key; });
        return found == worst.end() ? nullptr : &*found;
    }

    /// Whether the key has the second of two words; it must have one of them.
    bool is_second(const char* key, std::array<const char*, 2> words) {
        accepted_.emplace_back(key);
        const std::string accepted = fmt::format(R"("{}" or "{}")", words[0], words[1]);
        const Member* member = find(table_, key);
        if (!member) {
            out_.push_back(error_at(at_, "missing-key", subject_,
                                    fmt::format("'{}' is missing", key),
                                    fmt::format("{} = {}", key, accepted)));
            return false;
        }
        const std::string subject = fmt::format("{}.{}", subject_, key);
        const auto word = read_text(member->value, subject, out_);
        if (word && *word != words[0] && *word != words[1]) {
            out_.push_back(error_at(member->value.at, "bad-polarity", subject,
                                    fmt::format("there is no polarity {}", quote(*word)),
                                    accepted));
        }
        return word && *word == words[1];
    }

    static bool is_ideal(const Node& node) {
        const std::string* text = node.text();
        return text != nullptr && *text == ideal_word;
    }

    /// The table without the figures that are stated to be ideal: a blank model has them already.
    template <class Model>
    Node::Table without_ideal(std::span<const Field<Model>> own) const {
        Node::Table stated = table_;
        std::erase_if(stated, [&](const Member& member) {
            const auto* field = find_field(own, member.key);
            const auto* common = find_field(amplifier_fields(), member.key);
            const bool may_be = (field && !field->required) || (common && !common->required);
            return may_be && !has_usual_value(member.key) && is_ideal(member.value);
        });
        return stated;
    }

    /// Keys of transistors that stand for a usual value where they are left out, not for an ideal.
    static bool has_usual_value(std::string_view key) {
        return key == "current" || key == "transition_current" || key == "reverse_current_gain";
    }

    template <class Owner>
    void add_missing(std::span<const Field<Owner>> list, std::vector<std::string_view>& missing) {
        for (const Field<Owner>& field : list) {
            if (!field.required && !find(table_, field.key)) missing.push_back(field.key);
        }
    }

    /// Worst-case figures, each of which needs a typical one.
    template <class Model>
    std::vector<WorstFigure> worst(std::span<const Field<Model>> own) {
        accepted_.emplace_back("worst");
        const Member* member = find(table_, "worst");
        const Node::Table* table =
            member ? read_table(member->value, subject_ + ".worst", out_, worst_table) : nullptr;
        if (!table) return {};
        std::vector<std::string> accepted;
        std::vector<WorstFigure> figures;
        read_worst(*table, own, accepted, figures);
        read_worst(*table, amplifier_fields(), accepted, figures);
        reject_unknown_keys(*table, accepted, subject_ + ".worst", out_);
        return figures;
    }

    template <class Owner>
    void read_worst(const Node::Table& table, std::span<const Field<Owner>> list,
                    std::vector<std::string>& accepted, std::vector<WorstFigure>& figures) {
        for (const Field<Owner>& field : list) {
            const std::string& key = accepted.emplace_back(field.key);
            const Member* worst = find(table, key);
            if (!worst) continue;
            const std::string subject = fmt::format("{}.worst.{}", subject_, key);
            const Member* typical = find(table_, key);
            if (!typical || is_ideal(typical->value)) {
                out_.push_back(error_at(
                    worst->at, "worst-without-typical", subject,
                    typical ? fmt::format("the model's own {} is ideal", key)
                            : fmt::format("the model has no typical {}", key),
                    fmt::format("{} = {} in the model itself", key, example_of(field.unit))));
            }
            const auto value = read_figure(worst->value, field.unit, field.range, subject, out_);
            if (value) figures.push_back({field.key, *value});
        }
    }

    std::string source() {
        accepted_.emplace_back("source");
        const Member* source = find(table_, "source");
        if (!source) return "";
        return read_text(source->value, subject_ + ".source", out_).value_or("");
    }

    std::string pinout() {
        accepted_.emplace_back("pinout");
        const Member* pinout = find(table_, "pinout");
        if (!pinout) return "";
        return read_text(pinout->value, subject_ + ".pinout", out_).value_or("");
    }

    const CapsuleSchema* capsule_schema() {
        accepted_.emplace_back("kind");
        std::vector<std::string> kinds;
        for (const CapsuleSchema& schema : capsule_schemas()) kinds.emplace_back(schema.kind);
        const Member* kind = find(table_, "kind");
        if (!kind) {
            out_.push_back(error_at(at_, "missing-key", subject_, "'kind' is missing",
                                    "kind = one of " + listed(kinds)));
            return nullptr;
        }
        const auto name = read_text(kind->value, subject_ + ".kind", out_);
        if (!name) return nullptr;
        const auto found = std::find(kinds.begin(), kinds.end(), *name);
        if (found == kinds.end()) {
            out_.push_back(unknown_name(kind->value.at, "unknown-kind", subject_ + ".kind",
                                        "kind of capsule", *name, kinds));
            return nullptr;
        }
        return &capsule_schemas()[static_cast<std::size_t>(found - kinds.begin())];
    }

    void read_resonances(DynamicCapsule& capsule) {
        accepted_.emplace_back("resonances");
        const Member* member = find(table_, "resonances");
        const std::string subject = subject_ + ".resonances";
        const Node::Array* rows =
            member ? read_list(member->value, subject, out_, resonance_list) : nullptr;
        if (!rows) return;
        for (const Node& row : *rows) {
            const Node::Table* keys = read_table(row, subject, out_);
            if (!keys) continue;
            Resonance resonance;
            std::vector<std::string> accepted;
            read_fields(*keys, resonance_fields(), resonance, subject, row.at, false, accepted,
                        out_);
            reject_unknown_keys(*keys, accepted, subject, out_);
            capsule.resonances.push_back(resonance);
        }
    }

    void read_measurement(MeasuredCapsule& capsule, const FileReader& reader) {
        accepted_.insert(accepted_.end(), {"file", "extrapolate"});
        if (const Member* extrapolate = find(table_, "extrapolate")) {
            capsule.extrapolate =
                read_flag(extrapolate->value, subject_ + ".extrapolate", out_).value_or(false);
        }
        const Member* file = find(table_, "file");
        if (!file) {
            out_.push_back(error_at(at_, "missing-key", subject_, "'file' is missing",
                                    R"(file = "impedance.csv" or "impedance.s1p")"));
            return;
        }
        const auto named = read_text(file->value, subject_ + ".file", out_);
        if (!named) return;
        capsule.file = path_beside(at_.source->path, *named);
        const auto source =
            open_source(capsule.file, reader, file->value.at, subject_ + ".file", out_);
        if (source) capsule.points = read_impedance_file(source, out_);
    }

    void read_bandwidth(PreampIcModel& model) {
        accepted_.emplace_back("bandwidth");
        const Member* member = find(table_, "bandwidth");
        if (!member) return;
        const std::string subject = subject_ + ".bandwidth";
        const std::size_t errors_before = out_.size();
        if (const Node::Array* rows = read_list(member->value, subject, out_, bandwidth_list)) {
            for (const Node& row : *rows) read_bandwidth_row(row, subject, model);
        }
        if (out_.size() > errors_before) return;
        const bool two =
            model.bandwidth.size() == 2 && model.bandwidth[0].gain < model.bandwidth[1].gain;
        const PreampIcTimes times = times_of(model);
        if (two && times.a_s > 0 && times.b_s >= 0) return;
        out_.push_back(error_at(member->value.at, "bad-bandwidth", subject,
                                two ? "a preamp IC cannot have these two bandwidths"
                                    : "this is not a list of two rows of ascending gain",
                                std::string(bandwidth_list) +
                                    ": the bandwidth may not rise with gain, nor "
                                    "fall faster than gain rises"));
    }

    void read_bandwidth_row(const Node& row, const std::string& subject, PreampIcModel& model) {
        const Node::Array* pair = row.array();
        if (!pair || pair->size() != 2) {
            out_.push_back(error_at(row.at, "bad-bandwidth", subject, "a row is not a pair",
                                    "[gain, frequency]"));
            return;
        }
        const auto gain = read_figure((*pair)[0], Unit::ratio, Range::positive, subject, out_);
        const auto frequency = read_figure((*pair)[1], Unit::hertz, Range::positive, subject, out_);
        if (gain && frequency) model.bandwidth.push_back({*gain, *frequency});
    }

    const Node::Table& table_;
    Position at_;
    std::string subject_;
    Diagnostics& out_;
    std::vector<std::string> accepted_;
};

/// A model with mistakes is kept under its name, so that its users are not reported too.
void read_model(const ModelDefinition& model, const FileReader& reader, Models& models,
                Diagnostics& out) {
    const std::string& name = model.definition.key;
    const std::string subject = model.table + "." + name;
    const Node::Table* table = read_table(model.definition.value, subject, out);
    const auto read = [&] { return ModelReader(*table, model.definition.at, subject, out); };
    if (model.table == "opamp") {
        models.opamps.emplace(name, table ? read().opamp() : OpAmpModel{});
    } else if (model.table == "preamp_ic") {
        models.preamp_ics.emplace(name, table ? read().preamp_ic() : PreampIcModel{});
    } else if (model.table == "bipolar") {
        models.bipolars.emplace(name, table ? read().bipolar() : BipolarModel{});
    } else if (model.table == "jfet") {
        models.jfets.emplace(name, table ? read().jfet() : JfetModel{});
    } else if (model.table == "battery") {
        models.batteries.emplace(name, table ? read().battery() : BatteryModel{});
    } else if (model.table == "pinout") {
        models.pinouts.emplace(
            name, table ? read_pinout(*table, model.definition.at, subject, out) : Pinout{});
    } else {
        Capsule capsule = table ? read().capsule(reader) : Capsule{};
        capsule.name = name;
        models.capsules.emplace(name, std::move(capsule));
    }
}

}  // namespace

Models read_models(const std::vector<ModelDefinition>& definitions, const FileReader& reader,
                   Diagnostics& out) {
    Models models;
    std::map<std::pair<std::string, std::string>, const Member*> first;
    for (const ModelDefinition& model : definitions) {
        const auto [earlier, is_new] =
            first.emplace(std::pair(model.table, model.definition.key), &model.definition);
        if (is_new) {
            read_model(model, reader, models, out);
        } else if (!same_content(earlier->second->value, model.definition.value)) {
            const Position& there = earlier->second->at;
            out.push_back(error_at(
                model.definition.at, "duplicate-model",
                fmt::format("{}.{}", model.table, model.definition.key),
                fmt::format("already defined differently at {}:{}", there.source->path, there.line),
                "", "rename one of them, or make them equal"));
        }
    }
    return models;
}

}  // namespace lowhiss
