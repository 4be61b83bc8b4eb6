#include "write/best_case_json.hpp"

#include <nlohmann/json.hpp>

namespace lowhiss::cli {

Json gaps_json(const std::vector<ModelGap>& gaps) {
    Json list = Json::array();
    for (const ModelGap& gap : gaps) {
        list.push_back({{"parts", gap.parts}, {"model", gap.model}, {"figures", gap.keys}});
    }
    return list;
}

Json assumed_json(const std::vector<AssumedIdeal>& assumed) {
    Json list = Json::array();
    for (const AssumedIdeal& each : assumed) {
        list.push_back({{"measure", each.measure},
                        {"parts", each.gap.parts},
                        {"model", each.gap.model},
                        {"figures", each.gap.keys}});
    }
    return list;
}

}  // namespace lowhiss::cli
