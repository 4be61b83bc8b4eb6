#include <algorithm>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {

std::optional<BiasLoss> read_bias_loss(const Node& value, const std::string& subject,
                                       Diagnostics& out) {
    constexpr const char* accepted =
        R"([direct voltage, loss] by ascending voltage, such as [["0 V", 0], ["10 V", "35 %"]])";
    const Node::Array* rows = read_list(value, subject, out, accepted);
    if (!rows) return std::nullopt;
    const auto report = [&](const Node& node, std::string found) {
        out.push_back(error_at(node.at, "bad-bias-loss", subject, std::move(found), accepted));
    };
    const std::size_t errors_before = out.size();
    BiasLoss table;
    for (const Node& row : *rows) {
        const Node::Array* pair = row.array();
        if (!pair || pair->size() != 2) {
            report(row, "a row is not a pair");
            continue;
        }
        const auto direct_v =
            read_figure((*pair)[0], Unit::volt, Range::at_least_zero, subject, out);
        const auto lost = read_figure((*pair)[1], Unit::fraction, Range::zero_to_one, subject, out);
        if (!direct_v || !lost) continue;
        if (*lost == 1) report((*pair)[1], "a loss of 100 % leaves no capacitor");
        table.emplace_back(*direct_v, *lost);
    }
    if (out.size() > errors_before) return std::nullopt;
    const auto not_ascending = [](const auto& a, const auto& b) { return a.first >= b.first; };
    if (table.size() < 2) {
        report(value, "the table has fewer than two rows");
    } else if (std::adjacent_find(table.begin(), table.end(), not_ascending) != table.end()) {
        report(value, "the voltages do not ascend");
    } else if (table.front() != std::pair(0.0, 0.0)) {
        report(value, "the first row is not [0 V, 0]: the capacitance is that without bias");
    } else {
        return table;
    }
    return std::nullopt;
}

}  // namespace lowhiss
