#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

// Feedback: takes an assembled board and returns the paths from each amplifier's output to its
// inputs.

/// A path from the output of an amplifier back to one of its inputs.
struct FeedbackLoop {
    /// The sign of the whole loop: that of the input, inverted by every minus input on the way. It
    /// is unknown if the path passes a transformer or a controlled source.
    enum class Sense { negative, positive, unknown };

    std::string amplifier;
    std::string input;  ///< the pin at its end: "minus", "gain_pins.1"
    Sense sense = Sense::unknown;
    std::vector<std::string> parts;  ///< in order from the output; empty if both pins share a node
    std::vector<std::string> nodes;  ///< from the output's to the input's, both included
};

std::string_view text_of(FeedbackLoop::Sense sense);

/// For each input of each op-amp and preamp IC (gain pins and reference are inputs too) the loop of
/// fewest parts, or the first of equal ones in the board's order. A path passes fitted parts,
/// closed links, the capsule and the load, and amplifiers from input to output only. It passes
/// neither ground, nor nodes that a voltage source or a short ties to ground, nor the output of
/// another amplifier.
///
/// Cost linear in the board for an input without feedback; otherwise, for each input, linear in the
/// part of the board that is nearer to the output than the input is.
std::vector<FeedbackLoop> feedback_loops(const Board& assembled);

}  // namespace lowhiss
