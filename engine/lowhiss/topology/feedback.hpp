#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The way by which an amplifier's output comes back to one of its inputs.
struct FeedbackLoop {
    /// Of the whole loop where it is plain: an input's own sign, turned by every minus input that
    /// the way passes. Not told where it passes a transformer or a controlled source.
    enum class Sense { negative, positive, untold };

    std::string amplifier;
    std::string input;  ///< the pin it arrives at: "minus", "gain_pins.1"
    Sense sense = Sense::untold;
    std::vector<std::string> parts;  ///< in order from the output; none where it is one node
    std::vector<std::string> nodes;  ///< from the output's to the input's, both included
};

std::string_view text_of(FeedbackLoop::Sense sense);

/// For each input of each op-amp and preamp IC (its gain pins and reference are inputs too) the
/// loop of fewest parts, of equal ones the first in the board's order. A way leads through fitted
/// parts, closed links, the capsule and the load, through amplifiers from input to output only. It
/// does not lead over ground, nor what a voltage source or a short ties to it, nor into the output
/// of another amplifier.
///
/// Cost linear in the board for an input that nothing comes back to; otherwise, per input, linear
/// in what is nearer to the output than the input is.
std::vector<FeedbackLoop> feedback_loops(const Board& assembled);

}  // namespace lowhiss
