// Any bytes as a board: read without harm, and with all that comes of it: limits, topology,
// lines, and one solution.

#include <cstdint>
#include <string>

#include "draw/drawing.hpp"
#include "lowhiss/analysis/network.hpp"
#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/board/board_lines.hpp"
#include "lowhiss/topology/check.hpp"
#include "lowhiss/topology/feedback.hpp"
#include "support/memory_reader.hpp"

using namespace lowhiss;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    const FileReader reader = test::memory_reader({{"board.toml", text}});
    const BoardReading reading = read_board("board.toml", reader);
    for (const Diagnostic& d : reading.diagnostics) (void)to_text(d);
    if (!reading.board) return 0;
    (void)board_lines(*reading.board);
    for (const Variant& each : reading.board->variants) (void)with_variant(*reading.board, &each);
    if (reading.board->parts.size() > 200) return 0;
    const double rotation = 0.5;
    const bool sound = !has_errors(check_assembly(*reading.board, nullptr, {&rotation, 1}));
    (void)feedback_loops(*reading.board);
    (void)cli::graph_text(*reading.board, "fuzz");
    if (!sound || reading.board->parts.size() > 60) return 0;
    try {
        (void)Network(small_signal_circuit(*reading.board, rotation, nullptr)).respond(1000);
    } catch (const Error&) {
        return 0;  // refused with a message, as it should be
    }
    return 0;
}
