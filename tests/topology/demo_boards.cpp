// The demo boards have no findings, in every variant with its own capsule and at every position of
// the knob.

#include <filesystem>

#include "lowhiss/topology/check.hpp"
#include "lowhiss/topology/feedback.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::demo_boards_test {

std::vector<std::string> demo_boards() {
    std::vector<std::string> paths;
    for (const auto& entry :
         std::filesystem::directory_iterator(LOWHISS_SOURCE_DIR "/netlists/boards")) {
        if (entry.path().extension() == ".toml") paths.push_back(entry.path().string());
    }
    return paths;
}

Board demo_board(const std::string& path) {
    BoardReading reading = read_board(path, disk_reader());
    if (!reading.board) throw std::runtime_error(test::all_text(reading.diagnostics));
    return *std::move(reading.board);
}

std::string findings_of(const Board& assembled) {
    const auto rotations = assembled.knob ? assembled.knob->positions : std::vector<double>{0};
    std::string text;
    for (const double rotation : rotations) {
        text += test::all_text(check_topology(
            assembled, build_circuit(assembled, rotation, test::capsule_of(assembled))));
    }
    return text;
}

TEST_CASE("the demo boards have no findings") {
    const auto paths = demo_boards();
    CHECK(paths.size() >= 7);
    for (const std::string& path : paths) {
        INFO(path);
        const Board board = demo_board(path);
        CHECK(findings_of(board) == "");
        for (const Variant& variant : board.variants) {
            INFO(variant.name);
            CHECK(findings_of(with_variant(board, &variant)) == "");
        }
    }
}

TEST_CASE("every op-amp of the demo boards has negative feedback") {
    for (const std::string& path : demo_boards()) {
        INFO(path);
        const Board board = demo_board(path);
        const auto loops = feedback_loops(board);
        for (const Part& part : board.parts) {
            if (!std::holds_alternative<OpAmp>(part.data)) continue;
            INFO(part.name);
            const auto found = std::find_if(loops.begin(), loops.end(), [&](const auto& loop) {
                return loop.amplifier == part.name && loop.input == "minus";
            });
            REQUIRE(found != loops.end());
            // The graph does not know the sense of a loop through a transistor, which may turn it.
            const bool by_transistor =
                std::any_of(found->parts.begin(), found->parts.end(), [&](const std::string& name) {
                    const Part* passed = find_part(board, name);
                    return passed && (std::holds_alternative<Bipolar>(passed->data) ||
                                      std::holds_alternative<Jfet>(passed->data));
                });
            CHECK(found->sense ==
                  (by_transistor ? FeedbackLoop::Sense::unknown : FeedbackLoop::Sense::negative));
        }
    }
}

}  // namespace lowhiss::demo_boards_test
