#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/ordered/materials.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"

namespace lowhiss {
namespace {

/// Whether the part has a value that a list of materials names.
bool has_listed_value(const Part& part) {
    return std::holds_alternative<Resistor>(part.data) ||
           std::holds_alternative<Capacitor>(part.data) ||
           std::holds_alternative<Inductor>(part.data) ||
           std::holds_alternative<Potentiometer>(part.data);
}

bool nearly_equal(double a, double b) {
    return std::abs(a - b) <= 1e-9 * std::max(std::abs(a), std::abs(b));
}

class MaterialsComparison {
  public:
    MaterialsComparison(const Board& board, const Materials& materials)
        : board_(board), materials_(materials) {}

    Match match() {
        match_.notes = materials_.notes;
        for (const MaterialsItem& item : materials_.items) {
            items_[upper_case(item.device)].push_back(&item);
        }
        std::map<std::string, std::vector<const Part*>> devices;
        for (const Part& part : board_.parts) devices[upper_case(device_of(part))].push_back(&part);
        for (const auto& [device, parts] : devices) compare(device, parts);
        for (const auto& [device, items] : items_) {
            if (!devices.contains(device)) tell_not_drawn(device, *items.front());
        }
        std::stable_sort(match_.findings.begin(), match_.findings.end(), is_worse);
        return std::move(match_);
    }

  private:
    void add(FindingKind kind, std::string text, const Part* part, const MaterialsItem* item) {
        const std::string device = part ? device_of(*part) : item->device;
        match_.findings.push_back({kind,
                                   std::move(text),
                                   {device},
                                   part ? part->at : Position{},
                                   item ? item->at : Position{}});
    }

    void compare(const std::string& device, const std::vector<const Part*>& parts) {
        const Part& first = *parts.front();
        const auto found = items_.find(device);
        const bool fitted =
            std::any_of(parts.begin(), parts.end(), [](const Part* part) { return part->fitted; });
        const MaterialsItem* item = nullptr;
        if (found != items_.end()) {
            for (const MaterialsItem* each : found->second) {
                if (each->fitted) item = each;
            }
        }
        const auto* link = std::get_if<Link>(&first.data);
        if (link && !item) return;  // a bridge of solder is in no list
        if (!item) {
            const bool needed = fitted && !is_no_device(first) && !is_off_board(first, board_);
            if (needed) {
                add(FindingKind::not_listed,
                    fmt::format("{} is drawn as fitted and not in the list of materials",
                                device_of(first)),
                    &first, nullptr);
            }
            return;
        }
        if (!fitted || (link && !link->closed)) {
            add(FindingKind::not_fitted,
                fmt::format("{} is {} in the drawing, and the list of materials fits it",
                            device_of(first),
                            link && !link->closed ? "an open link" : "not fitted"),
                &first, item);
            return;
        }
        for (const MaterialsItem* each : found->second) {
            if (each->fitted) compare_value(first, *each);
        }
    }

    void compare_value(const Part& part, const MaterialsItem& item) {
        if (const std::string* model = model_name(part.data)) {
            if (upper_case(item.value).find(upper_case(*model)) == std::string::npos) {
                match_.not_compared.push_back(fmt::format("{}: the model {} with the value {}",
                                                          part.name, quote(*model),
                                                          quote(item.value)));
            }
            return;
        }
        if (!has_listed_value(part)) return;
        const auto& field = schema_of(part).fields.front();
        Part copy = part;
        const double drawn = field.slot(copy.data);
        const auto listed = listed_value(item.value, field.unit);
        if (!listed) {
            match_.not_compared.push_back(
                fmt::format("{}: the value {} cannot be read", part.name, quote(item.value)));
            return;
        }
        if (!nearly_equal(listed->value, drawn)) {
            return add(FindingKind::value,
                       fmt::format("{} is {} in the drawing, {} in the list of materials",
                                   part.name, print_quantity(drawn, field.unit), quote(item.value)),
                       &part, &item);
        }
        const Tolerance tolerance = tolerance_of(part);
        const bool comparable =
            listed->tolerance && tolerance.high > 0 && nearly_equal(tolerance.high, -tolerance.low);
        if (!comparable || nearly_equal(*listed->tolerance, tolerance.high)) return;
        add(FindingKind::value,
            fmt::format("{} has a tolerance of {} in the drawing, of {} in the list of materials",
                        part.name, print_quantity(tolerance.high, Unit::fraction),
                        print_quantity(*listed->tolerance, Unit::fraction)),
            &part, &item);
    }

    /// Connectors that off-board parts reach, and what is not simulated, may be listed.
    void tell_not_drawn(const std::string& device, const MaterialsItem& item) {
        const auto is_device = [&](const auto& each) { return upper_case(each.device) == device; };
        const bool meant =
            std::any_of(board_.off_board.begin(), board_.off_board.end(), is_device) ||
            std::any_of(board_.not_simulated.begin(), board_.not_simulated.end(), is_device);
        if (meant || !item.fitted) return;
        add(FindingKind::extra_part, not_drawn_text(item.device), nullptr, &item);
    }

    const Board& board_;
    const Materials& materials_;
    std::map<std::string, std::vector<const MaterialsItem*>> items_;
    Match match_;
};

}  // namespace

Match match_materials(const Board& assembled, const Materials& materials) {
    return MaterialsComparison(assembled, materials).match();
}

}  // namespace lowhiss
