#pragma once

#include "lowhiss/ordered/match.hpp"

namespace lowhiss {

/// Like `match_nets`, but like units of one device may have changed places, as layouts exchange the
/// halves of a dual amplifier: these are the same circuit. Units are exchanged if that leaves fewer
/// findings, and no finding of exchanged pins of their device; `units` and a note say which.
/// Otherwise the findings are those of the board as drawn. A part with `numbers` of its own stays
/// on them.
Match match_units(const Board& board, const OrderedNets& ordered);

}  // namespace lowhiss
