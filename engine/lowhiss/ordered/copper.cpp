#include "lowhiss/ordered/copper.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <string>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss {
namespace {

/// The value of a hexadecimal digit, or nothing.
std::optional<std::uint32_t> hex_value(char c) {
    if (is_digit(c)) return static_cast<std::uint32_t>(c - '0');
    const char lower = lower_case(c);
    if (lower >= 'a' && lower <= 'f') return static_cast<std::uint32_t>(lower - 'a' + 10);
    return std::nullopt;
}

void append_utf8(std::string& text, std::uint32_t code) {
    const auto byte = [&](std::uint32_t value) { text += static_cast<char>(value); };
    if (code < 0x80U) {
        byte(code);
    } else if (code < 0x800U) {
        byte(0xC0U | (code >> 6U));
        byte(0x80U | (code & 0x3FU));
    } else {
        byte(0xE0U | (code >> 12U));
        byte(0x80U | ((code >> 6U) & 0x3FU));
        byte(0x80U | (code & 0x3FU));
    }
}

/// The text with `\u002C` replaced by its character; anything else behind a backslash stays.
std::string unescaped(std::string_view text) {
    std::string plain;
    for (std::size_t k = 0; k < text.size(); ++k) {
        std::uint32_t code = 0;
        bool escape = text[k] == '\\' && k + 5 < text.size() && text[k + 1] == 'u';
        for (std::size_t digit = k + 2; escape && digit < k + 6; ++digit) {
            const auto value = hex_value(text[digit]);
            escape = value.has_value();
            if (value) code = code * 16 + *value;
        }
        if (escape) {
            append_utf8(plain, code);
            k += 5;
        } else {
            plain += text[k];
        }
    }
    return plain;
}

/// The fields of `.P,R1,1`, without the name.
std::vector<std::string> fields_of(std::string_view attribute) {
    std::vector<std::string> fields;
    auto comma = attribute.find(',');
    while (comma != std::string_view::npos) {
        attribute.remove_prefix(comma + 1);
        comma = attribute.find(',');
        fields.push_back(unescaped(trimmed(attribute.substr(0, comma))));
    }
    return fields;
}

class LayerReader {
  public:
    LayerReader(std::shared_ptr<const Source> file, std::vector<OrderedPin>& pins)
        : file_(std::move(file)), pins_(pins) {}

    /// One statement after another, each ended by an asterisk.
    void read() {
        std::string statement;
        for (const char c : file_->text) {
            if (statement.empty()) start_ = {file_, line_, column_};
            if (c == '*') {
                read_statement(trimmed(statement));
                statement.clear();
            } else if (c != '\n' && c != '\r' && c != '%') {
                statement += c;
            }
            ++column_;
            if (c != '\n') continue;
            ++line_;
            column_ = 1;
        }
    }

    int without_net() const { return without_net_; }

  private:
    void read_statement(std::string_view statement) {
        constexpr std::string_view comment = "G04 #@!";
        if (statement.starts_with(comment)) {
            read_attribute(trimmed(statement.substr(comment.size())));
        } else if (statement.starts_with("TO") || statement.starts_with("TD")) {
            read_attribute(statement);
        } else if (!statement.starts_with("G04") && draws(statement)) {
            take_pin();
        }
    }

    /// A flash, or a stroke or region in place of one: D03 or D01, with or without its zero.
    static bool draws(std::string_view statement) {
        const auto letter = statement.rfind('D');
        if (letter == std::string_view::npos) return false;
        const std::string_view code = statement.substr(letter + 1);
        return code == "03" || code == "3" || code == "01" || code == "1";
    }

    void read_attribute(std::string_view attribute) {
        const std::string_view name = attribute.substr(std::min<std::size_t>(2, attribute.size()));
        if (attribute.starts_with("TO.N") && (name == ".N" || name.starts_with(".N,"))) {
            const auto fields = fields_of(attribute);
            net_ = fields.empty() ? std::string() : fields.front();
            if (net_ == "N/C") net_->clear();
        } else if (attribute.starts_with("TO.P,")) {
            const auto fields = fields_of(attribute);
            const bool complete = fields.size() > 1 && !fields[0].empty() && !fields[1].empty();
            pin_ = complete ? std::optional(std::pair(fields[0], fields[1])) : std::nullopt;
        } else if (attribute.starts_with("TD")) {
            if (name.empty() || name == ".N") net_.reset();
            if (name.empty() || name == ".P") pin_.reset();
        }
    }

    void take_pin() {
        if (!pin_) return;
        if (!net_) ++without_net_;
        pins_.push_back({pin_->first, pin_->second, net_.value_or(""), start_, false, false});
    }

    std::shared_ptr<const Source> file_;
    std::vector<OrderedPin>& pins_;
    std::optional<std::string> net_;
    std::optional<std::pair<std::string, std::string>> pin_;  ///< designator and number
    int without_net_ = 0;
    int line_ = 1;
    int column_ = 1;
    Position start_;
};

}  // namespace

bool is_layer(std::string_view text) {
    const std::string_view start = trimmed(text.substr(0, 4000));
    return start.starts_with("G04") || start.starts_with('%') ||
           start.find("%FS") != std::string_view::npos;
}

std::optional<OrderedNets> read_copper(const std::vector<std::shared_ptr<const Source>>& layers,
                                       Diagnostics& out) {
    std::vector<OrderedPin> pins;
    int without_net = 0;
    for (const auto& layer : layers) {
        LayerReader reader(layer, pins);
        reader.read();
        without_net += reader.without_net();
    }
    OrderedNets nets = each_pin_once(layers.front()->path, std::move(pins));
    if (without_net > 0) {
        nets.notes.push_back(
            fmt::format("{} pads without a net taken as not connected", without_net));
    }
    const bool connected = std::any_of(nets.pins.begin(), nets.pins.end(),
                                       [](const OrderedPin& pin) { return !pin.net.empty(); });
    if (connected) return nets;
    out.push_back(
        {Severity::error,
         "bad-copper",
         {layers.front(), 0, 0},
         "",
         nets.pins.empty() ? "no pad has a designator and pin" : "no two pins are on one net",
         "copper layers with the object attributes .N and .P",
         "write the layers again with net attributes; outlines and drills have none"});
    return {};
}

}  // namespace lowhiss
