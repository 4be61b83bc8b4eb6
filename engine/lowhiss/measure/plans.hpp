#pragma once

#include <map>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

struct Plan;
class Setting;

/// The plans for solving one assembly with its capsule, with the capsule's impedance set to zero,
/// with both terminals driven in common mode, and with a resistance in the capsule's place. If one
/// is null, each network makes its own.
struct Plans {
    std::shared_ptr<const Plan> real = {};
    std::shared_ptr<const Plan> ideal = {};
    std::shared_ptr<const Plan> common = {};
    std::shared_ptr<const Plan> resistive = {};  ///< made when source_noise first needs it
};

/// The knob positions that an assembly is planned for: the first, the middle and the last; one 0
/// without a knob.
std::vector<double> planned_rotations(const Board& assembled);

/// Plans from the settings at `planned_rotations`, together. They also fit the positions between,
/// and boards that differ from this one in values alone. That saves the time of planning, and no
/// figure depends on which board or position was solved first.
Plans make_plans(std::span<Setting* const> settings);

/// The same, for boards whose settings are made later.
Plans make_plans(const Board& assembled, const Capsule* capsule);

/// By variant and capsule.
using PlanShelf = std::map<std::pair<std::string, std::string>, Plans>;

}  // namespace lowhiss
