#include "boards.hpp"

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

namespace lowhiss::bench {
namespace {

Board board_of(BoardReading reading) {
    if (!reading.board) throw std::runtime_error(to_text(reading.diagnostics.front()));
    return *std::move(reading.board);
}

Case case_of(const std::string& name, const Board& board) {
    const Capsule* capsule = capsule_named(board, board.input.capsule);
    Case result{name, std::make_unique<Network>(build_circuit(board, 0.5, capsule)), {}, {}};
    const Circuit& circuit = result.network->circuit();
    result.b.resize(static_cast<std::size_t>(result.network->pencil().size));
    result.c.resize(result.b.size());
    result.b[static_cast<std::size_t>(circuit.emf_current)] = 1;
    if (circuit.output_plus > 0) result.c[static_cast<std::size_t>(circuit.output_plus) - 1] += 1;
    if (circuit.output_minus > 0) result.c[static_cast<std::size_t>(circuit.output_minus) - 1] -= 1;
    return result;
}

}  // namespace

Board demo_board(const std::string& name) {
    const std::string path = LOWHISS_SOURCE_DIR "/netlists/boards/" + name + ".toml";
    return board_of(read_board(path, disk_reader()));
}

Case demo_case(const std::string& name) {
    return case_of(name, demo_board(name));
}

Case ladder_case(int nodes) {
    std::string text = "[input]\nplus = \"n0\"\n[output]\nplus = \"" +
                       fmt::format("n{}", nodes - 1) + "\"\n[parts]\n";
    for (int k = 1; k < nodes; ++k) {
        text +=
            fmt::format("R{0} = {{ resistor = \"10k\", pins = [\"n{1}\", \"n{0}\"] }}\n", k, k - 1);
        text += fmt::format("C{0} = {{ capacitor = \"1p\", pins = [\"n{0}\", \"gnd\"] }}\n", k);
    }
    const FileReader reader = [&](const std::string&) -> std::variant<std::string, Unreadable> {
        return text;
    };
    return case_of(fmt::format("ladder-{}", nodes), board_of(read_board("ladder.toml", reader)));
}

std::vector<double> grid_hz() {
    std::vector<double> grid;
    for (int k = 0; k < 64; ++k) grid.push_back(20 * std::pow(1000, k / 63.0));
    return grid;
}

}  // namespace lowhiss::bench
