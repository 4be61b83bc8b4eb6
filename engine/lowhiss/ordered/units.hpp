#pragma once

#include "lowhiss/ordered/match.hpp"

namespace lowhiss {

/// Like `match_nets`, but like units of one device may have changed places, as layouts exchange the
/// halves of a dual amplifier: these are the same circuit. Units are exchanged where that leaves
/// fewer findings, and none of pins of their device in each other's place; `units` and a note say
/// which. Otherwise the findings are those of the board as drawn. A part with `numbers` of its own
/// stays on them.
Match match_units(const Board& board, const OrderedNets& ordered);

}  // namespace lowhiss
