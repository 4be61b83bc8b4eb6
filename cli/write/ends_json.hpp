#pragma once

#include <nlohmann/json.hpp>
#include <vector>

#include "lowhiss/series/draw.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {

/// "low" or "high" by the name of each random number of a corner.
inline Json ends_json(const std::vector<Draw>& draws, const std::vector<End>& ends) {
    Json json = Json::object();
    for (std::size_t k = 0; k < ends.size(); ++k) {
        json[text_of(draws[k])] = ends[k] == End::low ? "low" : "high";
    }
    return json;
}

}  // namespace lowhiss::cli
