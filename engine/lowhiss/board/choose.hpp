#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "lowhiss/board/limit.hpp"
#include "lowhiss/board/part.hpp"
#include "lowhiss/text/document.hpp"

namespace lowhiss {

/// A part whose main value is open, and those tied to it, which always have the same one.
struct OpenValue {
    struct Member {
        std::string part;
        Node::Table entry;                        ///< its line in [parts], as written
        std::vector<std::string> own_variants{};  ///< those that set a main value of their own
    };
    std::vector<Member> parts;        ///< the one that is listed first
    std::vector<std::string> values;  ///< as they are printed and written: "4.7 kΩ", "ne5532"
    std::vector<PartData> data;       ///< of the first part, with each of the values
    bool changes_structure = false;   ///< a model, a link, or a resistance that may be zero
};

/// The [choose] of a board: which values are open, and by what figure they are chosen within the
/// board's limits.
struct Choose {
    enum class Aim {
        least,
        most,
        centred  ///< farthest from the bounds of the limits that have two
    };
    Aim aim = Aim::centred;
    Limit figure;  ///< without bounds; not of `centred`
    std::vector<OpenValue> open;
};

/// The number of sets of values; a double, because it may exceed any integer type.
double sets_of(const Choose& choose);

/// Gives `to`, a part of the same kind, the main value of `from`: a figure, a state or a model.
void take_main_value(const PartData& from, Part& to);

}  // namespace lowhiss
