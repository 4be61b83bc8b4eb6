#include "lowhiss/ordered/test_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>
#include <string>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/lines.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t net_width = 14;
constexpr std::size_t device_width = 6;
constexpr std::string_view alias_word = "NNAME";

/// Columns `first` to `last` of the line, counted from 1, as far as it has them.
std::string_view columns_of(std::string_view line, std::size_t first, std::size_t last) {
    return first > line.size() ? std::string_view{} : line.substr(first - 1, last - first + 1);
}

bool is_record_number(std::string_view line) {
    const std::string_view number = columns_of(line, 1, 3);
    return number.size() == 3 && std::all_of(number.begin(), number.end(), is_digit);
}

/// Through hole, surface pad, buried via and tooling hole, and continuations of the first two.
bool has_pin(std::string_view number) {
    constexpr auto numbers =
        std::to_array<std::string_view>({"317", "327", "307", "367", "017", "027"});
    return std::find(std::begin(numbers), std::end(numbers), number) != std::end(numbers);
}

/// The designator and pin of a record.
struct DevicePin {
    std::string_view device;
    std::string_view pin;
};

/// Columns 21 to 26 and 28 to 31 with a dash between them; if the dash is elsewhere, the text is
/// divided at the last one.
DevicePin device_pin(std::string_view line) {
    if (columns_of(line, 27, 27) == "-") {
        return {trimmed(columns_of(line, 21, 26)), trimmed(columns_of(line, 28, 31))};
    }
    const std::string_view both = trimmed(columns_of(line, 21, 31));
    const auto dash = both.rfind('-');
    if (dash == std::string_view::npos) return {both, {}};
    return {trimmed(both.substr(0, dash)), trimmed(both.substr(dash + 1))};
}

class TestFileReader {
  public:
    explicit TestFileReader(std::shared_ptr<const Source> file) : file_(std::move(file)) {}

    void read() {
        TextLines lines(file_->text);
        for (auto line = lines.next(); line && !ended_; line = lines.next()) read_line(*line);
    }

    std::optional<OrderedNets> nets(Diagnostics& out) {
        if (records_ == 0) {
            out.push_back(fault("no line is a test record",
                                "a bare-board test file by IPC-D-356A, with records 317 and 327"));
            return {};
        }
        resolve_aliases();
        OrderedNets nets = each_pin_once(file_->path, std::move(pins_));
        if (std::none_of(nets.pins.begin(), nets.pins.end(),
                         [](const OrderedPin& pin) { return !pin.net.empty(); })) {
            out.push_back(
                fault("no two pins are on one net: the file says nothing about connections",
                      "a test file with the net of each pin in columns 4 to 17"));
            return {};
        }
        set_cut_designators_apart(nets);
        add_notes(nets);
        return nets;
    }

  private:
    Diagnostic fault(std::string found, std::string accepted) const {
        return {Severity::error,  "bad-test-file",     {file_, 0, 0},         "",
                std::move(found), std::move(accepted), "write the file again"};
    }

    void read_line(const Token& line) {
        const std::string_view text = line.text;
        if (trimmed(text).empty()) return;
        if (text.starts_with('P') || text.starts_with('C')) return read_parameter(text);
        if (!is_record_number(text)) {
            ++unknown_lines_;
            return;
        }
        const std::string_view number = columns_of(text, 1, 3);
        if (number == "999")
            ended_ = true;
        else if (has_pin(number))
            read_record(line, number);
        else
            ++other_records_;
    }

    /// `P  NNAME1  LONG_NAME`, also seen in comments.
    void read_parameter(std::string_view text) {
        const std::string_view content = trimmed(text.substr(1));
        if (upper_case(content.substr(0, alias_word.size())) != alias_word) return;
        const auto blank = std::min(content.find_first_of(" \t"), content.size());
        const std::string_view long_name = trimmed(content.substr(blank));
        if (long_name.empty()) return;
        aliases_[upper_case(content.substr(0, blank))] = std::string(long_name);
    }

    void read_record(const Token& line, std::string_view number) {
        ++records_;
        std::string_view net = trimmed(columns_of(line.text, 4, 17));
        if (number.starts_with('0') && net.empty()) net = previous_net_;
        previous_net_ = net;
        const auto [device, pin] = device_pin(line.text);
        if (device.empty() || device == "VIA" || pin.empty()) {
            if (device != "VIA") ++without_pin_;
            return;
        }
        const int column = 1 + static_cast<int>(device.data() - line.text.data());
        const bool alone = net.empty() || upper_case(net) == "N/C";
        pins_.push_back({std::string(device),
                         std::string(pin),
                         alone ? std::string() : std::string(net),
                         {file_, line.line_number, column},
                         !alone && net.size() >= net_width,
                         device.size() >= device_width});
    }

    /// Records name an alias as `NNAME1` or, if none does, as the bare `1`.
    void resolve_aliases() {
        const auto as_declared = [&](const OrderedPin& pin) {
            return aliases_.contains(upper_case(pin.net));
        };
        const bool in_full = std::any_of(pins_.begin(), pins_.end(), as_declared);
        for (OrderedPin& pin : pins_) {
            const std::string name = upper_case(pin.net);
            const auto alias = aliases_.find(in_full ? name : std::string(alias_word) + name);
            if (alias == aliases_.end() || pin.net.empty()) continue;
            pin.net = alias->second;
            pin.net_may_be_cut = false;
        }
    }

    /// A pin of a designator of full length that is on two nets belongs to two parts whose names
    /// were cut: nothing can be said of them.
    static void set_cut_designators_apart(OrderedNets& nets) {
        std::set<std::string> cut;
        for (const OrderedPin& pin : nets.conflicts) {
            if (pin.device_may_be_cut) cut.insert(upper_case(pin.device));
        }
        const auto is_cut = [&](const OrderedPin& pin) {
            return cut.contains(upper_case(pin.device));
        };
        std::erase_if(nets.pins, is_cut);
        std::erase_if(nets.conflicts, is_cut);
        for (const std::string& device : cut) {
            nets.cut_devices.push_back(device);
            nets.notes.push_back(fmt::format(
                "{}: several parts whose designators were cut to {} characters count as one",
                device, device_width));
        }
    }

    void add_notes(OrderedNets& nets) const {
        const auto note = [&](int count, const char* what) {
            if (count > 0) nets.notes.push_back(fmt::format("left out: {}: {}", what, count));
        };
        note(without_pin_, "holes and pads without designator or pin");
        note(other_records_, "records that say nothing about connections");
        note(unknown_lines_, "lines that are not records of IPC-D-356A");
        if (!ended_) {
            nets.notes.emplace_back("no 999 at the end: the file may be incomplete");
        }
    }

    std::shared_ptr<const Source> file_;
    std::vector<OrderedPin> pins_;
    std::map<std::string, std::string> aliases_;  ///< by the name in capitals, "NNAME1"
    std::string_view previous_net_;
    int records_ = 0;
    int without_pin_ = 0;
    int other_records_ = 0;
    int unknown_lines_ = 0;
    bool ended_ = false;
};

}  // namespace

bool is_test_file(std::string_view text) {
    TextLines lines(text);
    for (auto line = lines.next(); line; line = lines.next()) {
        if (trimmed(line->text).empty()) continue;
        const bool lettered = line->text.starts_with("P ") || line->text.starts_with("C ") ||
                              line->text == "C" || line->text == "P";
        return lettered || (is_record_number(line->text) &&
                            line->text.find_first_of(",;\t") == std::string_view::npos);
    }
    return false;
}

std::optional<OrderedNets> read_test_file(const std::shared_ptr<const Source>& file,
                                          Diagnostics& out) {
    TestFileReader reader(file);
    reader.read();
    return reader.nets(out);
}

}  // namespace lowhiss
