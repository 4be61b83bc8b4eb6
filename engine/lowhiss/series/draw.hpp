#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The kind of thing that a random number of a board changes. The values of the enumerators go into
/// the random number generator, so that the numbers of one name differ by kind.
enum class DrawKind : std::uint32_t {
    part,
    group,
    temperature,
    temperature_coefficient,
    group_temperature_coefficient,
    model,
    spread
};

/// One random number of a board, with the range of what it changes: a relative deviation of a
/// part's value, or of the common value of a matched group; the temperature in kelvin; the
/// deviation of a temperature coefficient from the middle of its range, per kelvin; the way of a
/// model's figure from typical, 0, to worst, 1; its place in its spread, or that of all figures of
/// the spread, -1 to 1.
struct Draw {
    DrawKind kind = DrawKind::part;
    std::string name;  ///< of the part or group, "PART.key" of a model's figure; temperature: empty
    double low = 0;
    double high = 0;
};

/// "R1", "inputs (matched)", "U1 voltage_noise", "J1 spread",
/// "R1 temperature coefficient", "temperature"
std::string text_of(const Draw& draw);

/// The board with these values in place of the drawn ones. `value` is called for every random
/// number of every part, including unfitted ones and those of variants, and perhaps twice for one
/// draw.
Board board_with(const Board& board, const std::function<double(const Draw&)>& value);

/// The random numbers that change anything about the fitted parts, each once. `assembled` has the
/// changes of its variant made.
std::vector<Draw> draws_of(const Board& assembled);

/// One end of a draw's range, or the value of the drawn board.
enum class End { low, drawn, high };

/// The board with each of these draws at its end, and all others as drawn.
Board corner_board(const Board& board, const std::vector<Draw>& draws,
                   const std::vector<End>& ends);

}  // namespace lowhiss
