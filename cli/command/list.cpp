#include "command/list.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <optional>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "write/list_report.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

/// A kind of models: its name here, its table in a library, and the columns of its list. Its
/// figures are those of the models.
struct KindOfModels {
    std::string name;
    std::string title;
    std::string table;
    std::vector<std::vector<std::string_view>> columns;
    bool has_input = false;
};

const std::vector<KindOfModels>& kinds_of_models() {
    static const std::vector<KindOfModels> kinds{
        {"capsules",
         "Capsules",
         "capsule",
         {{"resistance", "coil_resistance", "output_resistance"},
          {"capacitance"},
          {"sensitivity"}}},
        {"opamps",
         "Op-amps",
         "opamp",
         {{"voltage_noise"}, {"current_noise"}, {"gain_bandwidth"}, {"supply_current"}},
         true},
        {"preamp_ics",
         "Preamp ICs",
         "preamp_ic",
         {{"input_voltage_noise"}, {"output_voltage_noise"}, {"current_noise"}, {"supply_current"}},
         true},
        {"transistors",
         "Bipolar transistors",
         "bipolar",
         {{"current_gain"}, {"base_resistance"}, {"early_voltage"}, {"transition_frequency"}},
         true},
        {"jfets",
         "JFETs",
         "jfet",
         {{"voltage_noise"},
          {"saturation_current"},
          {"pinch_off_voltage"},
          {"gate_source_capacitance"}},
         true},
        {"batteries",
         "Batteries",
         "battery",
         {{"full"}, {"nominal"}, {"empty"}, {"capacity"}, {"internal_resistance"}}},
    };
    return kinds;
}

std::vector<std::string> names_of_kinds() {
    std::vector<std::string> names;
    for (const KindOfModels& kind : kinds_of_models()) names.push_back(kind.name);
    return names;
}

[[noreturn]] void refuse_name(const std::string& what, const std::string& name,
                              const std::vector<std::string>& known) {
    const std::string advice = did_you_mean(name, known);
    throw UsageError(fmt::format("{} {}; accepted: {}{}", what, quote(name), listed(known),
                                 advice.empty() ? "" : "; " + advice));
}

std::optional<ModelUse> use_of(const ListOptions& options) {
    if (options.source.empty()) {
        if ((options.at_gain + options.at_current).empty()) return std::nullopt;
        throw UsageError(
            "--at-gain and --at-current apply to the noise with a source; accepted: with --for "
            "RESISTANCE");
    }
    constexpr double usual_gain_db = 60;
    ModelUse use;
    use.source_ohm = option_within(options.source, Unit::ohm, "--for", 0, 1e12);
    const double gain_db = options.at_gain.empty()
                               ? usual_gain_db
                               : option_within(options.at_gain, Unit::decibel, "--at-gain", 0, 100);
    use.gain = std::pow(10, gain_db / 20);
    if (!options.at_current.empty()) {
        use.current_a = option_within(options.at_current, Unit::ampere, "--at-current", 1e-9, 10);
    }
    return use;
}

bool needs_current(const KindOfModels& kind) {
    return kind.table == "bipolar";
}

/// The kinds that were asked for; with a source, those of them that have an input for it.
std::vector<KindOfModels> asked_kinds(const ListOptions& options,
                                      const std::optional<ModelUse>& use,
                                      std::vector<std::string>& notes) {
    const auto names = names_of_kinds();
    if (!options.kind.empty() &&
        std::find(names.begin(), names.end(), options.kind) == names.end()) {
        refuse_name("list: there is no kind of models", options.kind, names);
    }
    std::vector<KindOfModels> kinds;
    for (const KindOfModels& kind : kinds_of_models()) {
        const bool named = options.kind == kind.name;
        if (!options.kind.empty() && !named) continue;
        if (use && !kind.has_input) {
            if (!named) continue;
            throw UsageError(
                fmt::format("--for: {} have no input for a source; accepted: "
                            "opamps, preamp_ics, transistors, jfets",
                            kind.name));
        }
        if (use && needs_current(kind) && std::isnan(use->current_a)) {
            const std::string why = "the noise of a transistor depends on its collector current";
            if (named) {
                throw UsageError(fmt::format(
                    "--for: {}; accepted: with --at-current, as --at-current 1mA", why));
            }
            notes.push_back("Bipolar transistors are left out: " + why +
                            ", which --at-current gives.");
            continue;
        }
        kinds.push_back(kind);
    }
    return kinds;
}

std::string circuit_words(const KindOfModels& kind, const ModelUse& use) {
    const auto current = [&] { return print_quantity(use.current_a, Unit::ampere, 3); };
    if (kind.table == "preamp_ic") {
        return fmt::format("at a gain of {:.4g} dB, one input at ground",
                           20 * std::log10(use.gain));
    }
    if (kind.table == "bipolar") return fmt::format("at a collector current of {}", current());
    if (kind.table == "jfet") return "at the drain current of their data sheets";
    return "";
}

double noise_of(const LibraryModel& listed, const ModelUse& use) {
    return std::visit(
        [&]([[maybe_unused]] const auto& model) {
            if constexpr (requires { noise_with_source(model, use); })
                return noise_with_source(model, use);
            else
                return unset;
        },
        listed.model);
}

/// One --where.
struct Condition {
    std::string key;
    std::string comparison;
    double value;

    bool holds(const LibraryModel& model) const {
        const ModelFigure* figure = find_figure(model, key);
        if (!figure) return false;
        const double found = figure->value;  // no comparison of an unset one is true
        if (comparison == "<") return found < value;
        if (comparison == "<=") return found <= value;
        if (comparison == ">") return found > value;
        return found >= value;
    }
};

Condition condition_of(const std::string& text, const std::vector<const LibraryModel*>& models) {
    const auto at = text.find_first_of("<>");
    if (at == std::string::npos) {
        throw UsageError(
            fmt::format("--where: {} is not a comparison; accepted: FIGURE < QUANTITY, "
                        "also <=, > and >=, as \"voltage_noise < 3 nV/rtHz\"",
                        quote(text)));
    }
    const bool or_equal = at + 1 < text.size() && text[at + 1] == '=';
    Condition condition{std::string(trimmed(std::string_view(text).substr(0, at))),
                        text.substr(at, or_equal ? 2 : 1), 0};
    std::vector<std::string> known;
    for (const LibraryModel* model : models) {
        if (const ModelFigure* figure = find_figure(*model, condition.key)) {
            condition.value = parse_option(text.substr(at + condition.comparison.size()),
                                           figure->unit, "--where");
            return condition;
        }
        for (const ModelFigure& figure : model->figures) {
            const std::string key(figure.key);
            if (std::find(known.begin(), known.end(), key) == known.end()) known.push_back(key);
        }
    }
    refuse_name("--where: no model has a figure", condition.key, known);
}

std::vector<Condition> conditions_of(const ListOptions& options,
                                     const std::vector<KindOfModels>& kinds,
                                     const std::vector<LibraryModel>& all) {
    std::vector<const LibraryModel*> models;
    for (const LibraryModel& model : all) {
        const bool asked = std::any_of(kinds.begin(), kinds.end(),
                                       [&](const auto& kind) { return kind.table == model.table; });
        if (asked) models.push_back(&model);
    }
    std::vector<Condition> conditions;
    for (const std::string& text : options.where) {
        conditions.push_back(condition_of(text, models));
    }
    return conditions;
}

/// Adds a column for each condition whose figure has none yet.
void show_conditions(const std::vector<Condition>& conditions, ListedKind& kind) {
    for (const Condition& condition : conditions) {
        const bool shown =
            std::any_of(kind.columns.begin(), kind.columns.end(), [&](const auto& keys) {
                return std::find(keys.begin(), keys.end(), condition.key) != keys.end();
            });
        if (!shown) kind.columns.push_back({condition.key});
    }
}

ListedKind listed_kind(const KindOfModels& kind, const std::vector<LibraryModel>& all,
                       const std::vector<Condition>& conditions,
                       const std::optional<ModelUse>& use) {
    ListedKind listed{kind.name, kind.title, kind.columns, use && kind.has_input, "", {}};
    if (use) listed.where_noise = circuit_words(kind, *use);
    show_conditions(conditions, listed);
    for (const LibraryModel& model : all) {
        const bool passes =
            std::all_of(conditions.begin(), conditions.end(),
                        [&](const Condition& condition) { return condition.holds(model); });
        if (model.table != kind.table || !passes) continue;
        listed.models.push_back({model, use ? noise_of(model, *use) : unset});
    }
    std::stable_sort(listed.models.begin(), listed.models.end(), [](const auto& a, const auto& b) {
        return a.noise_v_rthz < b.noise_v_rthz ||
               (!std::isnan(a.noise_v_rthz) && std::isnan(b.noise_v_rthz));
    });
    return listed;
}

}  // namespace

void add_list(CLI::App& app, ListOptions& options) {
    CLI::App* command = app.add_subcommand(
        "list", "the models that come with the program, by their figures or their noise");
    std::string names;
    for (const std::string& name : names_of_kinds()) names += (names.empty() ? "" : ",") + name;
    command->add_option("KIND", options.kind, "what to list; everything if left out")
        ->type_name("TEXT:{" + names + "}");
    command
        ->add_option("--where", options.where,
                     "only models with this: \"voltage_noise < 3 nV/rtHz\"; also <=, > and >=; "
                     "repeat for more")
        ->type_name("CONDITION")
        ->allow_extra_args(false);
    command
        ->add_option("--for", options.source,
                     "sort by the noise at 1 kHz with a source of this resistance")
        ->type_name("RESISTANCE");
    command
        ->add_option("--at-gain", options.at_gain, "gain of preamp ICs in --for; 60 dB if left out")
        ->type_name("GAIN");
    command
        ->add_option("--at-current", options.at_current,
                     "collector or drain current of transistors in --for")
        ->type_name("CURRENT");
    command->add_option("--json", options.json, "write all figures as JSON; - is standard output")
        ->type_name("FILE");
    add_common(*command, options.common);
}

ExitStatus run_list(const ListOptions& options) {
    ModelList list;
    list.use = use_of(options);
    const auto kinds = asked_kinds(options, list.use, list.notes);
    const std::vector<LibraryModel> all = library_models();
    const auto conditions = conditions_of(options, kinds, all);
    std::size_t count = 0;
    for (const KindOfModels& kind : kinds) {
        list.kinds.push_back(listed_kind(kind, all, conditions, list.use));
        count += list.kinds.back().models.size();
    }
    list.notes.insert(list.notes.begin(),
                      count == 0
                          ? "No model meets the conditions."
                          : "Figures are typical; some are from memory, as the whole source says "
                            "in --json. Check each against the data sheet.");
    if (!options.json.empty()) write_output(options.json, list_json(list));
    if (options.json != "-" && !options.common.quiet) {
        write_output("-", list_text(list, wants_color(options.common.color, stdout)));
    }
    return done;
}

}  // namespace lowhiss::cli
