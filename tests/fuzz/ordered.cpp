// Any bytes as the data that a board is ordered by: read, compared with a board, drafted from.

#include <cstdint>
#include <cstdlib>
#include <string>

#include "lowhiss/ordered/draft.hpp"
#include "support/memory_reader.hpp"

using namespace lowhiss;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    Diagnostics out;
    const FileReader reader =
        test::memory_reader({{"data", text}, {"board.toml", starter_board()}});
    const auto ordered = read_ordered({{"data"}, {}, {}}, reader, out);
    if (!ordered) {
        if (out.empty()) std::abort();
        return 0;
    }
    const BoardReading board = read_board("board.toml", reader);
    if (!board.board) std::abort();
    static_cast<void>(match_ordered(*board.board, *ordered));
    if (!ordered->nets.empty()) {
        // A draft may have gaps to fill in, but it is TOML.
        const std::string drafted = draft_text(*ordered, {});
        const BoardReading reading =
            read_board("draft.toml", test::memory_reader({{"draft.toml", drafted}}));
        for (const Diagnostic& d : reading.diagnostics) {
            if (d.code == "syntax" || d.code == "duplicate-key") std::abort();
        }
    }
    return 0;
}
