#pragma once

#include <map>
#include <memory>
#include <string>
#include <utility>

#include "lowhiss/board/board.hpp"
#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

/// How to solve one assembly with its capsule, with the capsule's impedance set to zero, and with
/// both of its ends driven alike. Null where each network is to make its own.
struct Plans {
    std::shared_ptr<const Plan> real;
    std::shared_ptr<const Plan> ideal;
    std::shared_ptr<const Plan> common;
};

/// Plans for the first, the middle and the last knob position at once. They serve the positions
/// between, and boards that differ from this one in values alone; there they save the time of
/// planning, and the figures do not depend on which board or position was solved first.
Plans make_plans(const Board& assembled, const Capsule* capsule);

/// By variant and capsule.
using PlanShelf = std::map<std::pair<std::string, std::string>, Plans>;

}  // namespace lowhiss
