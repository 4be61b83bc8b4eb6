#include "lowhiss/ordered/draft.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>
#include <string_view>

#include "lowhiss/ordered/csv_table.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/document.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/utf8.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

/// Any bytes as a text that can be shown: what is not UTF-8 is read as Latin-1.
std::string shown(const std::string& bytes) {
    const auto decoded = decode_text(bytes);
    std::string text = printable(decoded ? decoded->text : bytes);
    std::replace(text.begin(), text.end(), '\t', ' ');
    return text;
}

enum class Kind { resistor, capacitor, inductor, potentiometer, link, other, connector };

/// The kind of a device by the letters that its designator begins with (IEEE 315, clause 22, and
/// common practice).
Kind kind_of_device(const std::string& device, std::size_t pins) {
    const auto end = std::find_if_not(device.begin(), device.end(), is_letter);
    const std::string letters = upper_case(std::string(device.begin(), end));
    const auto is_one_of = [&](std::initializer_list<std::string_view> list) {
        return std::find(list.begin(), list.end(), letters) != list.end();
    };
    if (pins == 3 && is_one_of({"RV", "VR", "R", "P", "POT"})) return Kind::potentiometer;
    if (pins == 2 && letters == "R") return Kind::resistor;
    if (pins == 2 && letters == "C") return Kind::capacitor;
    if (pins == 2 && letters == "L") return Kind::inductor;
    if (pins == 2 && is_one_of({"SB", "JP", "LK"})) return Kind::link;
    if (is_one_of({"J", "X", "P", "CN", "CON", "TP", "H", "MH", "FID"})) return Kind::connector;
    return Kind::other;
}

struct DraftedPin {
    std::string number;
    std::string node;
};

class Drafter {
  public:
    Drafter(const Ordered& ordered, const DraftTerminals& terminals)
        : ordered_(ordered), terminals_(terminals) {}

    std::string text() {
        gather();
        std::string text = fmt::format(
            "# Drafted from {}.\n"
            "# Finish by hand what says \"fill in\": until then `lowhiss sweep` shows where it "
            "is.\n"
            "# Net names and designators are those of the data.\n\n[board]\nname = \"drafted\"\n",
            sources());
        const std::string ground = ground_node();
        text += fmt::format("ground = {}\n", toml_text(ground.empty() ? "fill in" : shown(ground)));
        if (!ground.empty()) text += "# ground is taken by its name: check it\n";
        text += "# include = [\"opamps.toml\"]  # files of models and capsules\n";
        const std::string parts = parts_text();
        if (!connectors_.empty()) {
            text +=
                "# Not drawn below. Keep here what is not simulated; say in [off_board] what "
                "the others lead to.\n";
            text += fmt::format("not_simulated = [{}]\n", fmt::join(connectors_, ", "));
        }
        text += "\n[parts]\n" + parts;
        text += terminal_table("input", terminals_.input);
        text += "capsule = \"fill in\"\n";
        text += terminal_table("output", terminals_.output);
        text += "load = \"10k\"  # what the output works into: check it\n";
        text +=
            "\n# Say which part is the knob, and name its positions:\n"
            "# [knob]\n# part      = \"RV1\"\n# positions = [0.0, 0.5, 1.0]\n";
        return text + off_board();
    }

  private:
    std::string sources() const {
        std::vector<std::string> names;
        for (const OrderedNets& nets : ordered_.nets) names.push_back(quote(nets.path));
        for (const auto& [variant, list] : ordered_.materials) names.push_back(quote(list.path));
        return fmt::format("{}", fmt::join(names, " and "));
    }

    void gather() {
        for (const auto* pins : {&terminals_.input, &terminals_.output}) {
            for (const std::string& pin : *pins) {
                if (const auto named = device_and_pin(pin))
                    terminal_devices_.push_back(named->first);
            }
        }
        for (const OrderedPin& pin : ordered_.nets.front().pins) {
            const std::string node =
                pin.net.empty() ? fmt::format("nc_{}_{}", pin.device, pin.pin) : pin.net;
            devices_[pin.device].push_back({pin.pin, node});
            nodes_.insert(node);
        }
        for (auto& [device, pins] : devices_) {
            std::sort(pins.begin(), pins.end(), [](const DraftedPin& a, const DraftedPin& b) {
                return std::pair(a.number.size(), a.number) < std::pair(b.number.size(), b.number);
            });
        }
        if (ordered_.materials.empty()) return;
        // The first list is that of the board as it is drafted.
        for (const MaterialsItem& item : ordered_.materials.front().second.items) {
            items_.emplace(upper_case(item.device), &item);
        }
    }

    std::string ground_node() const {
        for (const char* name : {"GND", "/GND", "AGND", "GROUND", "0V"}) {
            for (const std::string& node : nodes_) {
                if (upper_case(node) == name) return node;
            }
        }
        return "";
    }

    std::string value_text(const std::string& device, Unit unit, std::string& tolerance) const {
        const auto item = items_.find(upper_case(device));
        if (item == items_.end()) return "\"fill in\"";
        const auto value = listed_value(item->second->value, unit);
        if (!value) return "\"fill in\"";
        if (value->tolerance) {
            tolerance = fmt::format(", tolerance = \"{}\"",
                                    print_quantity(*value->tolerance, Unit::fraction));
        }
        return fmt::format("\"{}\"", print_quantity(value->value, unit));
    }

    std::string note_of(const std::string& device) const {
        const auto item = items_.find(upper_case(device));
        if (item == items_.end()) return "";
        std::string note = printable(item->second->value);
        std::replace(note.begin(), note.end(), '\n', ' ');
        return note.empty() ? "" : "  # listed: " + note;
    }

    static std::string nodes_text(const std::vector<DraftedPin>& pins) {
        std::vector<std::string> nodes;
        nodes.reserve(pins.size());
        for (const DraftedPin& pin : pins) nodes.push_back(toml_text(shown(pin.node)));
        return fmt::format("[{}]", fmt::join(nodes, ", "));
    }

    std::string parts_text() {
        std::string text;
        std::set<std::string> keys;  // two names of bytes that cannot be shown may look alike
        for (const auto& entry : devices_) {
            const auto& device = entry.first;  // clang before 16 captures no structured bindings
            const auto& pins = entry.second;
            if (!keys.insert(toml_key(shown(device))).second) continue;
            std::string tolerance;
            const std::string nodes = nodes_text(pins);
            const auto valued = [&](const char* keyword, Unit unit, const char* rest) {
                const std::string value = value_text(device, unit, tolerance);
                const auto item = items_.find(upper_case(device));
                const bool unfitted = item != items_.end() && !item->second->fitted;
                text += fmt::format("{} = {{ {} = {}, pins = {}{}{}{} }}{}\n",
                                    toml_key(shown(device)), keyword, value, nodes, tolerance, rest,
                                    unfitted ? ", fitted = false" : "", note_of(device));
            };
            switch (kind_of_device(device, pins.size())) {
                case Kind::resistor:
                    valued("resistor", Unit::ohm, "");
                    break;
                case Kind::capacitor:
                    valued("capacitor", Unit::farad, "");
                    break;
                case Kind::inductor:
                    valued("inductor", Unit::henry, "");
                    break;
                case Kind::potentiometer:
                    text += "# pins 1, 2, 3 are taken as ccw end, wiper, cw end\n";
                    valued("potentiometer", Unit::ohm, ", taper = \"fill in\"");
                    break;
                case Kind::link:
                    text += fmt::format("{} = {{ link = \"fill in\", pins = {} }}{}\n",
                                        toml_key(shown(device)), nodes, note_of(device));
                    break;
                case Kind::other:
                    add_other(device, pins, text);
                    break;
                case Kind::connector:
                    add_connector(device, pins, text);
                    break;
            }
        }
        return text;
    }

    /// A device whose kind neither letters nor list tell: every pin with its node, to be sorted by
    /// hand.
    void add_other(const std::string& device, const std::vector<DraftedPin>& pins,
                   std::string& text) const {
        std::vector<std::string> list;
        std::set<std::string> keys;
        for (const DraftedPin& pin : pins) {
            const std::string key = toml_key(shown(pin.number));
            if (!keys.insert(key).second) continue;
            list.push_back(fmt::format("{} = {}", key, toml_text(shown(pin.node))));
        }
        text += fmt::format("# {}: the node of each pin{}\n", printable(device), note_of(device));
        text += fmt::format("{} = {{ fill_in = {{ {} }} }}\n", toml_key(shown(device)),
                            fmt::join(list, ", "));
    }

    void add_connector(const std::string& device, const std::vector<DraftedPin>& pins,
                       std::string& text) {
        std::string line = "# " + printable(device) + ":";
        for (const DraftedPin& pin : pins) {
            line += fmt::format(" {} {}", printable(pin.number), toml_text(shown(pin.node)));
        }
        text += line + note_of(device) + "\n";
        const bool is_terminal = std::any_of(
            terminal_devices_.begin(), terminal_devices_.end(),
            [&](const std::string& known) { return upper_case(known) == upper_case(device); });
        if (!is_terminal) connectors_.push_back(toml_text(shown(device)));
    }

    /// The node of "J1.2".
    std::string node_at(const std::string& pin, const char* option) const {
        const auto named = device_and_pin(pin);
        for (const auto& [device, pins] : devices_) {
            if (!named || upper_case(device) != upper_case(named->first)) continue;
            for (const DraftedPin& each : pins) {
                if (upper_case(each.number) == upper_case(named->second)) return each.node;
            }
        }
        std::vector<std::string> known;
        for (const auto& [device, pins] : devices_) {
            for (const DraftedPin& each : pins) known.push_back(device + "." + each.number);
        }
        throw Error(Error::Kind::unusable_input,
                    {error_at({ordered_.nets.front().pins.front().at.source, 0, 0}, "unknown-pin",
                              option, fmt::format("there is no pin {}", quote(pin)), listed(known),
                              did_you_mean(pin, known))});
    }

    std::string terminal_table(const char* name, const std::vector<std::string>& pins) const {
        std::string text = fmt::format("\n[{}]\n", name);
        const std::string option = fmt::format("--{}", name);
        text += fmt::format(
            "plus = {}\n",
            toml_text(pins.empty() ? "fill in" : shown(node_at(pins[0], option.c_str()))));
        if (pins.size() > 1) {
            text += fmt::format("minus = {}\n", toml_text(shown(node_at(pins[1], option.c_str()))));
        }
        return text;
    }

    std::string off_board() const {
        std::string text;
        const auto add = [&](const char* name, const std::vector<std::string>& pins) {
            for (std::size_t k = 0; k < std::min<std::size_t>(2, pins.size()); ++k) {
                text += fmt::format("{}.{} = {}\n", name, k == 0 ? "plus" : "minus",
                                    toml_text(shown(pins[k])));
            }
        };
        add("input", terminals_.input);
        add("output", terminals_.output);
        return text.empty() ? "" : "\n[off_board]\n" + text;
    }

    const Ordered& ordered_;
    const DraftTerminals& terminals_;
    std::map<std::string, std::vector<DraftedPin>> devices_;
    std::map<std::string, const MaterialsItem*> items_;
    std::set<std::string> nodes_;
    std::vector<std::string> connectors_;  ///< as texts of TOML
    std::vector<std::string> terminal_devices_;
};

constexpr std::string_view starter =
    R"(# A board to start from: a small non-inverting preamp. It sweeps as it is. Change it into yours.

[board]
name     = "starter"
revision = "A"

# Each part has one key that says what it is, with its value, and the nodes of its pins.
# Nodes are names of your choice; "gnd" is ground.
[parts]
C1  = { capacitor = "2u2", pins = ["mic", "in"], tolerance = "10 %" }   # blocks direct current
R1  = { resistor = "47k", pins = ["in", "gnd"], tolerance = "1 %" }     # bias of the op-amp
U1  = { opamp = "quiet", plus = "in", minus = "fb", out = "amp" }
R2  = { resistor = "10k", pins = ["amp", "fb"], tolerance = "1 %" }
RV1 = { potentiometer = "10k", pins = ["wiper", "wiper", "leg"], taper = "reverse-log", end_resistance = "5R" }  # ccw, wiper, cw
R3  = { resistor = "47R", pins = ["fb", "wiper"], tolerance = "1 %" }   # sets the largest gain
C2  = { capacitor = "470u", pins = ["leg", "gnd"], tolerance = "20 %" } # with R3 the bass corner
R4  = { resistor = "100R", pins = ["amp", "out"], tolerance = "1 %" }   # keeps the cable off U1
R5  = { resistor = "100k", pins = ["out", "gnd"], tolerance = "1 %" }

[input]
plus    = "mic"
capsule = "mine"

[output]
plus  = "out"
load  = "10k"
cable = "300p"

[knob]
part      = "RV1"
positions = [0.0, 0.5, 1.0]   # 0 is fully counter-clockwise

# `lowhiss check` fails where a limit is not met.
[[limit]]
name    = "full gain"
measure = "gain"
knob    = 1.0
min     = "44 dB"
max     = "48 dB"

# Figures of the data sheet; those that are left out make best cases, marked with a ?.
[opamp.quiet]
source            = "invented; replace by the figures of your op-amp"
open_loop_gain    = "110 dB"
gain_bandwidth    = "10 MHz"
voltage_noise     = "4 nV/rtHz"
current_noise     = "0.6 pA/rtHz"
output_resistance = "30R"

[capsule.mine]
kind            = "dynamic"
coil_resistance = "200R"
coil_inductance = "0.5 mH"
)";

}  // namespace

std::string draft_text(const Ordered& ordered, const DraftTerminals& terminals) {
    return Drafter(ordered, terminals).text();
}

std::string starter_board() {
    return std::string(starter);
}

}  // namespace lowhiss
