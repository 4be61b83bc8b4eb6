#pragma once

#include <algorithm>
#include <map>
#include <random>
#include <set>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/ordered/drawn.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss::test {

// The data a layout program would write for a board, in the dialects that such programs have.

/// A pad: device, pin, net.
struct MadePin {
    std::string device;
    std::string pin;
    std::string net;
};

/// The pins of the board. Nets have names of their own, "N1" and so on or the node in capitals, and
/// some of the parts that may be fitted either way round are turned.
inline std::vector<MadePin> made_pins(const Board& board, bool node_names, unsigned seed) {
    const DrawnNets drawn = drawn_nets(board);
    std::mt19937 random(seed);
    std::map<std::string, std::string> nets;
    const auto net = [&](const std::string& node) {
        std::string name = fmt::format("N{}", nets.size() + 1);
        if (node_names) {
            name = node;
            for (char& c : name) c = static_cast<char>(std::toupper(c));
        }
        return nets.emplace(node, name).first->second;
    };
    std::vector<MadePin> pins;
    for (const DrawnPin& pin : drawn.pins) {
        pins.push_back({pin.device, pin.numbers.front(), net(pin.node)});
    }
    for (const DrawnPair& pair : drawn.pairs) {
        const bool turned = random() % 2 == 1;
        const DrawnPin& first = turned ? pair.second : pair.first;
        const DrawnPin& second = turned ? pair.first : pair.second;
        pins.push_back({first.device, "1", net(first.node)});
        pins.push_back({first.device, "2", net(second.node)});
    }
    for (const DrawnPin& pin : drawn.supply) {
        pins.push_back({pin.device, pin.numbers.front(), "SUPPLY" + pin.numbers.front()});
    }
    return pins;
}

struct TestFileDialect {
    bool cut_names = false;      ///< the last 14 characters, in capitals
    bool aliases = false;        ///< P NNAME records
    bool continuations = false;  ///< 017 and 027 for the second record of a pin
    bool many_pads = false;      ///< each pin in several records, as 317 and 327
    bool invented_nets = false;  ///< a net of its own for each pin alone, instead of N/C
    bool crlf = false;
    bool garbage = false;  ///< behind column 67
};

/// IPC-D-356A, columns as in the standard.
inline std::string made_test_file(const std::vector<MadePin>& pins, const TestFileDialect& d) {
    const std::string end = d.crlf ? "\r\n" : "\n";
    std::string text = "C  made for a test" + end + "P  JOB   MADE" + end + "P  UNITS CUST 1" + end;
    std::map<std::string, int> count;
    for (const MadePin& pin : pins) ++count[pin.net];
    std::map<std::string, std::string> token;
    int aliases = 0;
    for (const MadePin& pin : pins) {
        if (token.contains(pin.net)) continue;
        std::string name = pin.net;
        if (d.aliases) {
            name = fmt::format("NNAME{}", ++aliases);
            text += fmt::format("P  {}  {}{}", name, pin.net, end);
        } else if (d.cut_names && name.size() > 14) {
            name = name.substr(name.size() - 14);
        }
        token[pin.net] = name;
    }
    const auto record = [&](const char* number, const MadePin& pin, const std::string& net) {
        std::string line = fmt::format(
            "{}{:<14}   {:<6}-{:<4} {}A01X+012700Y+025400X0600Y1550R000 S0", number, net,
            pin.device.substr(0, 6), pin.pin, number[1] == '1' ? "D0900P" : "      ");
        if (d.garbage) line += " \x01 ?!?";
        return line + end;
    };
    for (const MadePin& pin : pins) {
        std::string net = token[pin.net];
        if (count[pin.net] == 1 || pin.net.empty()) {
            net = d.invented_nets ? "NET-(" + pin.device.substr(0, 6) + pin.pin + ")" : "N/C";
        }
        text += record("327", pin, net);
        for (int k = 0; d.many_pads && k < 4; ++k) text += record("317", pin, net);
        if (d.continuations) text += record("027", pin, "");
    }
    text += "317GND              VIA        MD0300PA00X+014000Y+025400X0600Y0000R000 S3" + end;
    text += "367                 REF**       D1260UA00X+014000Y+025400X1260Y0000R000 S0" + end;
    text += "378GND              A01 X0100Y0 X1000Y1000" + end + end;
    return text + "999" + end;
}

/// One copper layer with object attributes; as comments for older readers if `as_comments`.
inline std::string made_copper(const std::vector<MadePin>& pins, bool as_comments) {
    const auto attribute = [&](const std::string& content) {
        return as_comments ? fmt::format("G04 #@! {}*\n", content)
                           : fmt::format("%{}*%\n", content);
    };
    const auto escaped = [](const std::string& name) {
        std::string text;
        for (const char c : name) {
            if (c == ',' || c == '*' || c == '%' || c == '\\')
                text += fmt::format("\\u{:04X}", static_cast<unsigned>(c));
            else
                text += c;
        }
        return text;
    };
    std::string text = attribute("TF.FileFunction,Copper,L1,Top") +
                       "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.5*%\nG01*\nD10*\n";
    for (std::size_t k = 0; k < pins.size(); ++k) {
        const MadePin& pin = pins[k];
        text += attribute(fmt::format("TO.P,{},{}", escaped(pin.device), escaped(pin.pin)));
        text += attribute("TO.N," + escaped(pin.net));
        text += fmt::format("X{}000000Y{}000000D03*\n", 3 * (k % 10 + 1), 3 * (k / 10 + 1));
        text += attribute("TD");
    }
    return text + "X0Y0D02*\nX1Y1D01*\nM02*\n";
}

struct MaterialsDialect {
    char separator = ',';
    bool decimal_comma = false;
    bool grouped = false;  ///< parts of a value in one row, as a list
};

/// The part's value in a list of materials; empty if it has none.
inline std::string made_value(const Part& part) {
    const bool valued = has_tolerance(part);
    if (!valued) return model_name(part.data) ? *model_name(part.data) : "";
    Part copy = part;
    const auto& field = schema_of(part).fields.front();
    return print_quantity(field.slot(copy.data), field.unit);
}

inline std::string made_materials(const Board& board, const MaterialsDialect& dialect,
                                  const std::map<std::string, std::string>& other_values = {}) {
    const char s = dialect.separator;
    std::string text = fmt::format("Reference{}Qty{}Value\n", s, s);
    std::map<std::string, std::vector<std::string>> rows;
    std::set<std::string> listed;  // a device of two parts is listed once
    for (const Part& part : board.parts) {
        const auto* link = std::get_if<Link>(&part.data);
        const bool source = std::holds_alternative<IndependentSource>(part.data) ||
                            std::holds_alternative<ControlledSource>(part.data);
        if (link || source || !part.fitted || !listed.insert(device_of(part)).second) continue;
        const auto other = other_values.find(part.name);
        std::string value = other == other_values.end() ? made_value(part) : other->second;
        if (dialect.decimal_comma) std::replace(value.begin(), value.end(), '.', ',');
        rows[value].push_back(device_of(part));
    }
    for (const auto& [value, names] : rows) {
        if (dialect.grouped) {
            text += fmt::format("\"{}\"{}{}{}\"{}\"\n", fmt::join(names, ", "), s, names.size(), s,
                                value);
            continue;
        }
        for (const std::string& name : names) {
            text += fmt::format("{}{}1{}\"{}\"\n", name, s, s, value);
        }
    }
    return text;
}

}  // namespace lowhiss::test
