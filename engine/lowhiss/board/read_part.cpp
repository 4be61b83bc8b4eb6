#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/phrase.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

std::vector<std::string> keywords() {
    std::vector<std::string> names;
    for (const PartSchema& schema : part_schemas()) names.emplace_back(schema.keyword);
    return names;
}

template <class ModelMap>
std::vector<std::string> keys_of(const ModelMap& models) {
    std::vector<std::string> names;
    names.reserve(models.size());
    for (const auto& [name, model] : models) names.push_back(name);
    return names;
}

/// The models that a part of this kind may name.
std::vector<std::string> names_of_models(const PartData& data, const Models& models) {
    using Names = std::vector<std::string>;
    return std::visit(
        Overloads{[&](const OpAmp&) { return keys_of(models.opamps); },
                  [&](const PreampIc&) { return keys_of(models.preamp_ics); },
                  [&](const Bipolar&) { return keys_of(models.bipolars); },
                  [&](const Jfet&) { return keys_of(models.jfets); },
                  [&](const Battery&) { return keys_of(models.batteries); },
                  [](const OneOf<Resistor, Capacitor, Inductor, Transformer, Potentiometer, Link,
                                 ControlledSource, IndependentSource, Diode, Regulator> auto&) {
                      return Names{};
                  }},
        data);
}

/// A name that people use for a key or kind that has another name in this language.
struct OtherName {
    std::string_view name;
    std::string_view ours;
};

constexpr auto other_kinds = std::to_array<OtherName>({
    {"cap", "capacitor"},
    {"cell", "battery"},
    {"choke", "inductor"},
    {"coil", "inductor"},
    {"condenser", "capacitor"},
    {"jumper", "link"},
    {"pot", "potentiometer"},
    {"preset", "potentiometer"},
    {"switch", "link"},
    {"trimmer", "potentiometer"},
    {"fet", "jfet"},
    {"transistor", "bipolar"},
});

constexpr auto other_tapers = std::to_array<OtherName>({
    {"anti-log", "reverse-log"},
    {"antilog", "reverse-log"},
    {"audio", "log"},
    {"inverse-log", "reverse-log"},
    {"reverse log", "reverse-log"},
    {"rev-log", "reverse-log"},
});

/// The name in this language for one of those.
std::optional<std::string> ours_for(const std::string& name, std::span<const OtherName> others) {
    const auto other = std::find_if(others.begin(), others.end(), [&](const OtherName& each) {
        return each.name == lower_case(name);
    });
    return other == others.end() ? std::nullopt : std::optional(std::string(other->ours));
}

/// Accepted by the one keyword that takes a table.
constexpr const char* transformer_table = "a table: { ratio = 10, primary_inductance = \"8 H\" }";

class PartReader {
  public:
    PartReader(Part& part, const BoardDraft& draft)
        : part_(part), schema_(schema_of(part)), draft_(draft), out_(draft.out) {}

    /// Reads all of `R1 = { ... }`, or, if `partial`, the keys that a variant changes.
    void read(const Node::Table& table, const Position& at, bool partial) {
        const Node::Table* figures = &table;
        const Member* main = find(table, schema_.keyword);
        if (main) read_main(main->value, figures);
        if (schema_.main != MainValue::figure) accepted_.emplace_back(schema_.keyword);
        std::vector<std::string> figure_keys;
        read_fields(*figures, schema_.fields, part_.data, part_.name, at, partial, figure_keys,
                    out_);
        ask_about_figures(*figures);
        const bool nested = figures != &table;
        if (nested)
            reject_unknown_keys(*figures, figure_keys, part_.name, out_);
        else
            accepted_.insert(accepted_.end(), figure_keys.begin(), figure_keys.end());
        read_taper(table);
        read_polarised(table);
        read_bias_loss(table);
        read_pins(table, at, partial);
        read_common(table);
        reject_unknown_keys(table, accepted_, part_.name, out_);
    }

    /// The value of the keyword: a state, a model or a table; a figure is read with the other
    /// fields.
    void read_main(const Node& value, const Node::Table*& figures) {
        const std::string subject = fmt::format("{}.{}", part_.name, schema_.keyword);
        switch (schema_.main) {
            case MainValue::figure:
                return;
            case MainValue::state:
                return read_state(value, subject);
            case MainValue::model:
                return read_model_name(value, subject);
            case MainValue::figures:
                if (const Node::Table* table =
                        read_table(value, subject, out_, transformer_table)) {
                    figures = table;
                }
                return;
        }
    }

    void set_main(const Node& value) {
        const std::string subject = fmt::format("{}.{}", part_.name, schema_.keyword);
        const Node::Table* unused = nullptr;
        if (schema_.main != MainValue::figure) return read_main(value, unused);
        const auto& field = schema_.fields.front();
        const auto figure = read_figure(value, field.unit, field.range, subject, out_);
        if (!figure) return;
        field.slot(part_.data) = *figure;
        ask_about_value(value);
    }

  private:
    void ask(const Node& value, std::string_view key, std::string found, std::string accepted,
             std::string advice) {
        Diagnostic d = error_at(value.at, "unusual-value", fmt::format("{}.{}", part_.name, key),
                                std::move(found), std::move(accepted), std::move(advice));
        d.severity = Severity::warning;
        out_.push_back(std::move(d));
    }

    /// Warns of a main figure outside the usual range of the kind.
    void ask_about_value(const Node& value) {
        const auto& field = schema_.fields.front();
        const double size = std::abs(field.slot(part_.data));
        const auto [low, high] = schema_.usual;
        if (size == 0 || !(size < low || size > high)) return;
        const auto text = [&](double figure) { return print_quantity(figure, field.unit, 4); };
        ask(value, field.key,
            fmt::format("{} is unusually {} for {}", text(size), size < low ? "small" : "large",
                        with_article(schema_.keyword)),
            low > 0 ? fmt::format("usually {} to {}", text(low), text(high))
                    : fmt::format("usually up to {}", text(high)),
            "check the unit and its prefix: M is mega, m is milli, u is micro");
    }

    void ask_about_tolerance(const Node& value) {
        constexpr double low = -0.5;
        constexpr double high = 1;  // of electrolytic capacitors that state two ends
        const Tolerance tolerance = tolerance_of(part_);
        const bool two_ends = value.array() != nullptr;
        if (tolerance.low >= low && tolerance.high <= (two_ends ? high : -low)) return;
        const bool percent = value.text() == nullptr && !two_ends;
        ask(value, "tolerance",
            fmt::format("a tolerance of {} is unusually wide",
                        print_quantity(std::max(-tolerance.low, tolerance.high), Unit::fraction)),
            "usually up to ±50 %, or from -50 % to +100 %",
            percent ? "a number without a unit is a fraction: 0.05 is 5 %" : "");
    }

    /// Figures that were read without a mistake and are still not likely.
    void ask_about_figures(const Node::Table& figures) {
        const Member* main = find(figures, schema_.keyword);
        if (main && schema_.main == MainValue::figure) {
            ask_about_value(main->value);
        }
        const Member* tolerance = find(figures, "tolerance");
        if (tolerance && find_field(schema_.fields, "tolerance")) {
            ask_about_tolerance(tolerance->value);
        }
    }

    void read_state(const Node& value, const std::string& subject) {
        const std::string* state = value.text();
        if (state && (*state == "closed" || *state == "open")) {
            std::get<Link>(part_.data).closed = *state == "closed";
            return;
        }
        const std::vector<std::string> known{"closed", "open"};
        out_.push_back(error_at(value.at, "bad-state", subject,
                                state ? fmt::format("{} is not a state of a link", quote(*state))
                                      : fmt::format("this is {}", kind_of(value)),
                                R"("closed" or "open")", state ? did_you_mean(*state, known) : ""));
    }

    void read_model_name(const Node& value, const std::string& subject) {
        const auto name = read_text(value, subject, out_);
        if (!name) return;
        *model_name(part_.data) = *name;
        const std::vector<std::string> known = names_of_models(part_.data, draft_.board.models);
        if (std::find(known.begin(), known.end(), *name) != known.end()) return;
        Diagnostic unknown = unknown_name(value.at, "unknown-model", subject,
                                          fmt::format("{} model", schema_.keyword), *name, known);
        if (known.empty()) unknown.advice = how_to_define(schema_.keyword);
        out_.push_back(std::move(unknown));
    }

    void read_polarised(const Node::Table& table) {
        auto* capacitor = std::get_if<Capacitor>(&part_.data);
        if (!capacitor) return;
        accepted_.emplace_back("polarised");
        const Member* polarised = find(table, "polarised");
        if (!polarised) return;
        if (const auto flag = read_flag(polarised->value, part_.name + ".polarised", out_)) {
            capacitor->polarised = *flag;
        }
    }

    void read_bias_loss(const Node::Table& table) {
        auto* capacitor = std::get_if<Capacitor>(&part_.data);
        if (!capacitor) return;
        accepted_.emplace_back("bias_loss");
        const Member* rows = find(table, "bias_loss");
        if (!rows) return;
        auto read = lowhiss::read_bias_loss(rows->value, part_.name + ".bias_loss", out_);
        if (read) capacitor->bias_loss = std::move(*read);
    }

    void read_taper(const Node::Table& table) {
        auto* potentiometer = std::get_if<Potentiometer>(&part_.data);
        if (!potentiometer) return;
        accepted_.emplace_back("taper");
        const Member* taper = find(table, "taper");
        if (!taper) return;
        if (taper->value.array()) return read_taper_table(taper->value, *potentiometer);
        static const std::vector<std::string> names{"linear", "log", "reverse-log"};
        const std::string* name = taper->value.text();
        const auto found = name ? std::find(names.begin(), names.end(), *name) : names.end();
        if (found != names.end()) {
            potentiometer->taper = {static_cast<Taper::Kind>(found - names.begin()), {}};
            return;
        }
        const auto ours = name ? ours_for(*name, other_tapers) : std::nullopt;
        out_.push_back(error_at(taper->value.at, "bad-taper", part_.name + ".taper",
                                name ? fmt::format("there is no taper {}", quote(*name))
                                     : fmt::format("this is {}", kind_of(taper->value)),
                                listed(names) + ", or a list of [rotation, fraction]",
                                ours   ? fmt::format("did you mean '{}'?", *ours)
                                : name ? did_you_mean(*name, names)
                                       : ""));
    }

    void read_taper_table(const Node& value, Potentiometer& potentiometer) {
        const std::string subject = part_.name + ".taper";
        Taper taper{Taper::Kind::table, {}};
        const std::size_t errors_before = out_.size();
        for (const Node& row : *value.array()) {
            if (!row.array() || row.array()->size() != 2) {
                out_.push_back(error_at(row.at, "bad-taper", subject, "a row is not a pair",
                                        "[rotation, fraction], each 0 to 1"));
                continue;
            }
            const auto in_row = [&](std::size_t i) {
                return read_figure((*row.array())[i], Unit::fraction, Range::zero_to_one, subject,
                                   out_);
            };
            const auto rotation = in_row(0);
            const auto fraction = in_row(1);
            if (rotation && fraction) taper.points.emplace_back(*rotation, *fraction);
        }
        if (out_.size() > errors_before) return;
        const auto not_ascending = [](const auto& a, const auto& b) { return a.first >= b.first; };
        const auto& points = taper.points;
        if (points.size() < 2 || points.front().first != 0 || points.back().first != 1 ||
            std::adjacent_find(points.begin(), points.end(), not_ascending) != points.end()) {
            out_.push_back(error_at(value.at, "bad-taper", subject,
                                    "the rotations do not ascend from 0 to 1",
                                    "such as [[0, 0], [0.5, 0.15], [1, 1]]"));
            return;
        }
        potentiometer.taper = std::move(taper);
    }

    void read_pins(const Node::Table& table, const Position& at, bool partial) {
        std::size_t first = 0;
        const bool unordered = reject_pins_of_current_source(table);
        for (const PinGroup& group : schema_.pins) {
            const std::string key(group.key);
            accepted_.push_back(key);
            const auto count = static_cast<std::size_t>(group.count);
            const Member* member = find(table, key);
            if (group.optional && !member) break;
            if (part_.pins.size() < first + count) part_.pins.resize(first + count);
            if (member)
                read_pin_group(*member, group, first);
            else if (!partial && group.ground_by_default)
                part_.pins[first] = {draft_.board.ground, at};
            else if (!partial && !unordered) {
                out_.push_back(error_at(at, "missing-key", part_.name,
                                        fmt::format("'{}' is missing", key), pins_text(group)));
            }
            first += count;
        }
    }

    /// Two nodes in a list do not say which way the current flows.
    bool reject_pins_of_current_source(const Node::Table& table) {
        const auto* source = std::get_if<IndependentSource>(&part_.data);
        const Member* pins = find(table, "pins");
        if (!source || source->kind != IndependentSource::Kind::current || !pins) return false;
        accepted_.emplace_back("pins");
        const Node::Array* nodes = pins->value.array();
        const bool two = nodes != nullptr && nodes->size() == 2 &&
                         nodes->front().text() != nullptr && nodes->back().text() != nullptr;
        out_.push_back(error_at(
            pins->at, "no-pins", part_.name, "a current source has no 'pins'",
            "from and into: its current leaves the circuit at `from` and enters it at `into`",
            two ? fmt::format("write from = {}, into = {}, or exchange the two",
                              quote(*nodes->front().text()), quote(*nodes->back().text()))
                : ""));
        return true;
    }

    static std::string pins_text(const PinGroup& group) {
        if (group.count == 1) return fmt::format("{} = \"node\"", group.key);
        return fmt::format("{} = [{}], {} nodes", group.key,
                           group.count == 2 ? R"("a", "b")" : R"("a", "b", "c")", group.count);
    }

    void read_pin_group(const Member& member, const PinGroup& group, std::size_t first) {
        const std::string subject = fmt::format("{}.{}", part_.name, group.key);
        if (group.count == 1) {
            read_pin(member.value, subject, part_.pins[first]);
            return;
        }
        const Node::Array* nodes = read_list(member.value, subject, out_, pins_text(group));
        if (!nodes) return;
        if (nodes->size() != static_cast<std::size_t>(group.count)) {
            out_.push_back(error_at(
                member.value.at, "wrong-pin-count", subject,
                fmt::format("'{}' takes {} nodes, not {}", group.key, group.count, nodes->size()),
                pins_text(group)));
            return;
        }
        for (std::size_t i = 0; i < nodes->size(); ++i) {
            read_pin((*nodes)[i], subject, part_.pins[first + i]);
        }
    }

    void read_pin(const Node& node, const std::string& subject, Pin& pin) {
        if (const auto name = read_text(node, subject, out_)) pin = {*name, node.at};
    }

    void read_common(const Node::Table& table) {
        accepted_.insert(accepted_.end(), {"fitted", "note", "device", "unit", "numbers"});
        read_device(table);
        if (const Member* fitted = find(table, "fitted")) {
            if (const auto flag = read_flag(fitted->value, part_.name + ".fitted", out_)) {
                part_.fitted = *flag;
            }
        }
        if (const Member* note = find(table, "note")) {
            if (const auto text = read_text(note->value, part_.name + ".note", out_)) {
                part_.note = *text;
            }
        }
    }

    void read_device(const Node::Table& table) {
        if (const Member* device = find(table, "device")) {
            part_.device = read_text(device->value, part_.name + ".device", out_).value_or("");
        }
        if (const Member* unit = find(table, "unit")) read_unit(unit->value);
        const Member* numbers = find(table, "numbers");
        const Node::Table* keys =
            numbers ? read_table(numbers->value, part_.name + ".numbers", out_,
                                 "a table such as { plus = 3, minus = 2, out = 1 }")
                    : nullptr;
        if (!keys) return;
        part_.numbers.clear();
        read_pin_numbers(*keys, schema_.pins, part_.name + ".numbers", part_.numbers, out_);
    }

    void read_unit(const Node& value) {
        const std::string subject = part_.name + ".unit";
        const auto name = read_text(value, subject, out_);
        if (!name) return;
        part_.unit = *name;
        const Pinout* pinout = pinout_of(part_, draft_.board.models);
        if (pinout && pinout->units.contains(*name)) return;
        std::vector<std::string> known;
        for (const auto& [unit, pins] : pinout ? pinout->units : Pinout{}.units) {
            known.push_back(unit);
        }
        out_.push_back(unknown_name(value.at, "unknown-unit", subject, "unit", *name, known));
        if (known.empty()) {
            out_.back().advice = "give the model a pinout with units, or the part its numbers";
        }
    }

    Part& part_;
    const PartSchema& schema_;
    const BoardDraft& draft_;
    Diagnostics& out_;
    std::vector<std::string> accepted_;
};

/// The schema whose keyword the table has; null after a mistake, which is reported.
const PartSchema* schema_for(const Member& entry, const Node::Table& table, Diagnostics& out) {
    const PartSchema* chosen = nullptr;
    for (const PartSchema& schema : part_schemas()) {
        const Member* member = find(table, schema.keyword);
        if (!member) continue;
        if (chosen) {
            out.push_back(error_at(
                member->at, "two-kinds", entry.key,
                fmt::format("a part cannot be both {} and {}", chosen->keyword, schema.keyword), "",
                "keep one of the two keys"));
            return nullptr;
        }
        chosen = &schema;
    }
    if (chosen) return chosen;
    std::string advice;
    Position at = entry.at;
    for (const Member& member : table) {
        const auto ours = ours_for(member.key, other_kinds);
        const auto near = ours ? ours : nearest(member.key, keywords());
        if (!near || !advice.empty()) continue;
        advice = fmt::format("did you mean '{}' instead of {}?", *near, quote(member.key));
        at = member.at;
    }
    out.push_back(error_at(at, "unknown-kind", entry.key, "no key names the kind of part",
                           listed(keywords()), advice));
    return nullptr;
}

}  // namespace

std::optional<Part> read_part(const BoardDraft& draft, const Member& entry) {
    const Node::Table* table =
        read_table(entry.value, entry.key, draft.out,
                   R"(a table such as { resistor = "2k2", pins = ["a", "b"] })");
    if (!table) return std::nullopt;
    const PartSchema* schema = schema_for(entry, *table, draft.out);
    if (!schema) return std::nullopt;
    Part part{entry.key, schema->blank, {}, true, "", entry.at};
    if (schema->main == MainValue::figures && !find(*table, schema->keyword)->value.table()) {
        read_table(find(*table, schema->keyword)->value,
                   fmt::format("{}.{}", entry.key, schema->keyword), draft.out, transformer_table);
        return std::nullopt;
    }
    PartReader(part, draft).read(*table, entry.at, false);
    return part;
}

Part changed_part(const BoardDraft& draft, Part part, const Member& change) {
    const bool state_or_model = schema_of(part).main != MainValue::figure;
    PartReader reader(part, draft);
    const Node::Table* table = change.value.table();
    if (table) {
        reader.read(*table, change.at, true);
    } else if (const bool* fitted = std::get_if<bool>(&change.value.value);
               fitted != nullptr && !state_or_model) {
        draft.out.push_back(error_at(change.value.at, "wrong-kind", part.name,
                                     "this is a true/false value",
                                     "a value, or { fitted = false } to leave the part out"));
    } else {
        reader.set_main(change.value);
    }
    return part;
}

}  // namespace lowhiss
