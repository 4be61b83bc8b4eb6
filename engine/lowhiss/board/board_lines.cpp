#include "lowhiss/board/board_lines.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/crc.hpp>
#include <cmath>
#include <set>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// Significant digits of figures: more than any tolerance needs, and still readable.
constexpr int digits = 6;

void add(std::string& text, const std::string& item) {
    text += (text.empty() ? "" : ", ") + item;
}

/// Figures that differ from the defaults of a blank owner.
template <class Owner>
void add_figures(std::span<const Field<Owner>> fields, Owner owner, Owner blank,
                 std::string& text) {
    for (const Field<Owner>& field : fields) {
        const double value = field.slot(owner);
        const auto low = field.ends.low_slot;
        const bool as_blank = value == field.slot(blank) && (!low || low(owner) == low(blank));
        if (std::isnan(value) || as_blank) continue;
        add(text, fmt::format("{} {}", field.key, figure_text(field, owner, [&](double figure) {
                                  return print_quantity(figure, field.unit, digits);
                              })));
    }
}

std::string taper_text(const Taper& taper) {
    switch (taper.kind) {
        case Taper::Kind::linear:
            return "linear";
        case Taper::Kind::log:
            return "log";
        case Taper::Kind::reverse_log:
            return "reverse-log";
        case Taper::Kind::table:
            break;
    }
    std::string text = "taper";
    for (const auto& [rotation, fraction] : taper.points) {
        text += fmt::format(" {}:{}", rotation, fraction);
    }
    return text;
}

std::string bias_loss_text(const BiasLoss& table) {
    std::string text = "bias loss";
    for (const auto& [direct_v, lost] : table) {
        text += fmt::format(" {}:{}", print_quantity(direct_v, Unit::volt, digits),
                            print_quantity(lost, Unit::fraction, digits));
    }
    return text;
}

std::vector<std::string> nodes_of(const Part& part) {
    std::vector<std::string> nodes;
    for (const Pin& pin : part.pins) nodes.push_back(pin.node);
    return nodes;
}

std::string capsule_text(const std::string& name) {
    return "capsule " + (name.empty() ? "none" : name);
}

std::string output_text(const Output& output) {
    std::string text;
    if (output.load_ohm != infinite) {
        add(text, "load " + print_quantity(output.load_ohm, Unit::ohm));
    }
    if (output.cable_f != 0) add(text, "cable " + print_quantity(output.cable_f, Unit::farad));
    return text.empty() ? "no load" : text;
}

std::string knob_text(const Knob& knob) {
    std::string text;
    for (const std::string& part : knob.parts) text += (text.empty() ? "" : " and ") + part;
    return text;
}

/// The worst-case figures that belong to these fields.
template <class Owner>
void add_worst_of(std::span<const Field<Owner>> fields, std::span<const WorstFigure> worst,
                  std::string& text) {
    for (const WorstFigure& figure : worst) {
        for (const Field<Owner>& field : fields) {
            if (field.key != figure.key) continue;
            add(text,
                fmt::format("{} {}", field.key, print_quantity(figure.value, field.unit, digits)));
        }
    }
}

template <class Model>
void add_worst(std::span<const Field<Model>> own, const Model& model, std::string& text) {
    std::string row;
    add_worst_of(own, model.worst, row);
    add_worst_of(amplifier_fields(), model.worst, row);
    if (!row.empty()) add(text, "worst (" + row + ")");
}

std::string text_of(const OpAmpModel& model) {
    std::string text;
    add_figures(opamp_fields(), model, OpAmpModel{}, text);
    add_figures(amplifier_fields(), model.common, AmplifierFigures{}, text);
    add_worst(opamp_fields(), model, text);
    return text;
}

std::string text_of(const PreampIcModel& model) {
    std::string text;
    add_figures(preamp_ic_fields(), model, PreampIcModel{}, text);
    for (const GainBandwidth& row : model.bandwidth) {
        add(text, fmt::format("bandwidth {} at gain {}",
                              print_quantity(row.frequency_hz, Unit::hertz), row.gain));
    }
    add_figures(amplifier_fields(), model.common, AmplifierFigures{}, text);
    add_worst(preamp_ic_fields(), model, text);
    return text;
}

/// A measured impedance: its file, number of points and a check sum over them.
std::string measured_text(const MeasuredCapsule& measured) {
    boost::crc_32_type sum;
    for (const ImpedancePoint& point : measured.points) {
        const std::string line = fmt::format("{} {} {}\n", point.frequency_hz, point.resistance_ohm,
                                             point.reactance_ohm);
        sum.process_bytes(line.data(), line.size());
    }
    return fmt::format("{}, {} points, check sum {:08x}{}", measured.file, measured.points.size(),
                       sum.checksum(), measured.extrapolate ? ", extrapolated" : "");
}

std::string text_of(const BatteryModel& model) {
    std::string text;
    add_figures(battery_fields(), model, BatteryModel{}, text);
    return text;
}

template <class Model>
void add_spread(std::span<const Field<Model>> fields, const ModelSpread& spread,
                std::string& text) {
    std::string row;
    for (const SpreadFigure& figure : spread.figures) {
        const Field<Model>& field = *find_field(fields, figure.key);
        add(row,
            fmt::format("{} {} to {}", field.key, print_quantity(figure.low, field.unit, digits),
                        print_quantity(figure.high, field.unit, digits)));
    }
    if (row.empty()) return;
    add(text, fmt::format("spread ({}, correlation {})", row, spread.correlation));
}

/// The line of a transistor's model.
template <class Model>
std::string transistor_text(std::string text, std::span<const Field<Model>> fields,
                            const Model& model) {
    add_figures(fields, model, Model{}, text);
    std::string worst;
    add_worst_of(fields, model.worst, worst);
    if (!worst.empty()) add(text, "worst (" + worst + ")");
    add_spread(fields, model.spread, text);
    return text;
}

std::string text_of(const BipolarModel& model) {
    return transistor_text(model.pnp ? "pnp" : "npn", bipolar_fields(), model);
}

std::string text_of(const JfetModel& model) {
    return transistor_text(model.p_channel ? "p-channel" : "n-channel", jfet_fields(), model);
}

std::vector<std::string> nodes_of(const Feed& feed) {
    return {feed.plus.node, feed.minus.node, feed.ret.node};
}

std::string text_of(const Feed& feed) {
    std::string text = feed.standard;
    add_figures(feed_fields(), feed, Feed{}, text);
    return text;
}

std::string text_of(const Ripple& ripple) {
    std::string text = "on " + ripple.source;
    for (const Ripple::Line& line : ripple.lines) {
        add(text, fmt::format("{} at {}", print_quantity(line.rms_v, Unit::volt, digits),
                              print_quantity(line.frequency_hz, Unit::hertz, digits)));
    }
    if (ripple.density_v_rthz > 0) {
        add(text, print_quantity(ripple.density_v_rthz, Unit::volt_per_root_hertz, digits));
    }
    return text;
}

/// Adds what the schema does not list: resonances, or a measured impedance.
void add_extra(const Capsule& capsule, std::string& text) {
    std::visit(
        Overloads{[&](const DynamicCapsule& dynamic) {
                      for (const Resonance& resonance : dynamic.resonances) {
                          std::string row;
                          add_figures(resonance_fields(), resonance, Resonance{}, row);
                          add(text, "resonance (" + row + ")");
                      }
                  },
                  [&](const MeasuredCapsule& measured) { add(text, measured_text(measured)); },
                  [](const OneOf<ResistiveCapsule, CondenserCapsule, ElectretCapsule> auto&) {}},
        capsule.impedance);
}

std::string text_of(const Capsule& capsule) {
    const CapsuleSchema& schema = capsule_schemas()[capsule.impedance.index()];
    std::string text(schema.kind);
    add_figures(schema.fields, capsule, schema.blank, text);
    add_extra(capsule, text);
    return text;
}

template <class Models>
void add_model(std::string_view kind, const Models& models, const std::string& name,
               std::vector<BoardLine>& lines) {
    const auto model = models.find(name);
    if (model == models.end()) return;
    BoardLine line{fmt::format("{} {}", kind, name), text_of(model->second), {}};
    if (std::find(lines.begin(), lines.end(), line) == lines.end()) lines.push_back(line);
}

void add_models_of(const Part& part, const Models& models, std::vector<BoardLine>& lines) {
    std::visit(
        Overloads{
            [&](const OpAmp& made) { add_model("opamp", models.opamps, made.model, lines); },
            [&](const PreampIc& made) {
                add_model("preamp_ic", models.preamp_ics, made.model, lines);
            },
            [&](const Bipolar& made) { add_model("bipolar", models.bipolars, made.model, lines); },
            [&](const Jfet& made) { add_model("jfet", models.jfets, made.model, lines); },
            [&](const Battery& made) { add_model("battery", models.batteries, made.model, lines); },
            [](const OneOf<Resistor, Capacitor, Inductor, Transformer, Potentiometer, Link,
                           ControlledSource, IndependentSource, Diode, Regulator> auto&) {}},
        part.data);
}

/// The value of the keyword; empty for a transformer, whose figures all have keys.
std::string main_text(const Part& part) {
    const PartSchema& schema = schema_of(part);
    switch (schema.main) {
        case MainValue::figure: {
            PartData data = part.data;
            const Field<PartData>& field = schema.fields.front();
            return print_quantity(field.slot(data), field.unit, digits);
        }
        case MainValue::figures:
            return "";
        case MainValue::state:
        case MainValue::model:
            return value_text(part);
    }
    return "";
}

/// Properties that the schema does not list: taper, polarity and the table of a bias loss.
std::string extra_text(const Part& part) {
    return std::visit(
        Overloads{
            [](const Potentiometer& potentiometer) { return taper_text(potentiometer.taper); },
            [](const Capacitor& capacitor) {
                std::string text = capacitor.polarised ? "polarised" : "";
                if (!capacitor.bias_loss.empty()) add(text, bias_loss_text(capacitor.bias_loss));
                return text;
            },
            [](const OneOf<Resistor, Inductor, Transformer, Link, OpAmp, PreampIc, Bipolar, Jfet,
                           ControlledSource, IndependentSource, Diode, Regulator, Battery> auto&) {
                return std::string();
            }},
        part.data);
}

BoardLine line_of(std::string name, const Part& part) {
    return {std::move(name), part_text(part), nodes_of(part), is_reversible(part)};
}

/// A part may be called "[input]" or "opamp tl072", and two ripples alike: the second line of a
/// name gets a number, so that lines can be found by their names.
void make_names_unique(std::vector<BoardLine>& lines) {
    std::set<std::string> taken;
    for (BoardLine& line : lines) {
        const std::string name = line.name;
        for (int k = 2; !taken.insert(line.name).second; ++k) {
            line.name = fmt::format("{} ({})", name, k);
        }
    }
}

}  // namespace

std::string part_text(const Part& part) {
    const PartSchema& schema = schema_of(part);
    std::string text(schema.keyword);
    if (const std::string main = main_text(part); !main.empty()) text += " " + main;
    const bool main_is_first = schema.main == MainValue::figure;
    add_figures(schema.fields.subspan(main_is_first ? 1 : 0), part.data, schema.blank, text);
    if (const std::string extra = extra_text(part); !extra.empty()) add(text, extra);
    return part.fitted ? text : text + ", not fitted";
}

std::string temperature_text(const Board& board) {
    std::string text = print_quantity(board.temperature_k, Unit::kelvin);
    if (const auto& range = board.temperature_range) {
        text += fmt::format(", used at {} to {}", print_quantity(range->low_k, Unit::kelvin),
                            print_quantity(range->high_k, Unit::kelvin));
    }
    return text;
}

std::vector<BoardLine> board_lines(const Board& board) {
    std::vector<BoardLine> lines;
    for (const Part& part : board.parts) {
        lines.push_back(line_of(part.name, part));
    }
    lines.push_back({"[board]", temperature_text(board), {board.ground}});
    lines.push_back({"[input]",
                     capsule_text(board.input.capsule),
                     {board.input.plus.node, board.input.minus.node}});
    lines.push_back(
        {"[output]", output_text(board.output), {board.output.plus.node, board.output.minus.node}});
    if (board.knob) lines.push_back({"[knob]", knob_text(*board.knob), {}});
    if (board.feed) lines.push_back({"[feed]", text_of(*board.feed), nodes_of(*board.feed)});
    for (const Ripple& ripple : board.ripples) {
        lines.push_back({fmt::format("[[ripple]] {}", ripple.name), text_of(ripple), {}});
    }
    for (const Variant& variant : board.variants) {
        const std::string place = fmt::format("[variants.{}]", variant.name);
        if (!variant.capsule.empty()) lines.push_back({place, capsule_text(variant.capsule), {}});
        if (variant.without_feed) lines.push_back({place + " [feed]", "none", {}});
        if (variant.feed) {
            lines.push_back({place + " [feed]", text_of(*variant.feed), nodes_of(*variant.feed)});
        }
        for (const Part& part : variant.changed) {
            lines.push_back(line_of(place + " " + part.name, part));
        }
    }
    for (const Part& part : board.parts) add_models_of(part, board.models, lines);
    add_model("capsule", board.models.capsules, board.input.capsule, lines);
    for (const Variant& variant : board.variants) {
        for (const Part& part : variant.changed) add_models_of(part, board.models, lines);
        add_model("capsule", board.models.capsules, variant.capsule, lines);
    }
    make_names_unique(lines);
    return lines;
}

}  // namespace lowhiss
