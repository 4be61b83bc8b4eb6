#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/fault_schema.hpp"
#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// A fault of the supply that the board has on purpose.
struct AcceptedFault {
    FaultKind fault;
    std::string part;  ///< or "feed"
    std::string why;
    std::vector<std::string> variants;  ///< "plain" for none; empty: all and the plain board
    Position at;
};

}  // namespace lowhiss
