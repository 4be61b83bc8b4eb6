#pragma once

#include <optional>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// What reading a part has to know of the rest of the board.
struct PartContext {
    const Models& models;
    const std::string& ground;
    Diagnostics& out;
};

/// One entry of [parts]. Nothing when its kind cannot be told.
std::optional<Part> read_part(const Member& entry, const PartContext& context);

/// One entry of a variant's `set`: the part with a new main value, or with other keys changed.
Part changed_part(Part part, const Member& change, const PartContext& context);

}  // namespace lowhiss
