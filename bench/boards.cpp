#include "boards.hpp"

#include <fmt/format.h>

#include <cmath>
#include <fstream>
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

Case mesh_case(int side) {
    std::string text =
        fmt::format("[input]\nplus = \"n0_0\"\n[output]\nplus = \"n{0}_{0}\"\n[parts]\n", side - 1);
    for (int row = 0; row < side; ++row) {
        for (int column = 0; column < side; ++column) {
            const std::string node = fmt::format("n{}_{}", row, column);
            text += fmt::format("C{0}_{1} = {{ capacitor = \"1p\", pins = [\"{2}\", \"gnd\"] }}\n",
                                row, column, node);
            if (column + 1 < side) {
                text += fmt::format(
                    "RH{0}_{1} = {{ resistor = \"10k\", pins = [\"{2}\", \"n{0}_{3}\"] }}\n", row,
                    column, node, column + 1);
            }
            if (row + 1 < side) {
                text += fmt::format(
                    "RV{0}_{1} = {{ resistor = \"10k\", pins = [\"{2}\", \"n{3}_{1}\"] }}\n", row,
                    column, node, row + 1);
            }
        }
    }
    const FileReader reader = [&](const std::string&) -> std::variant<std::string, Unreadable> {
        return text;
    };
    return case_of(fmt::format("mesh-{}", side * side), board_of(read_board("mesh.toml", reader)));
}

std::vector<double> grid_hz(int count) {
    std::vector<double> grid;
    for (int k = 0; k < count; ++k) grid.push_back(20 * std::pow(1000, k / (count - 1.0)));
    return grid;
}

void write_matrices(const std::string& folder) {
    for (const std::string name : {"wren", "tern", "heron-c", "curlew", "bittern"}) {
        const Case one = demo_case(name);
        const Pencil& pencil = one.network->pencil();
        const auto n = static_cast<std::size_t>(pencil.size);
        std::vector<double> numbers(1 + 2 * n * n + 2 * n);
        numbers[0] = pencil.size;
        for (std::size_t column = 0; column < n; ++column) {
            for (int k = pencil.column_start[column]; k < pencil.column_start[column + 1]; ++k) {
                const auto slot = static_cast<std::size_t>(k);
                const std::size_t at = static_cast<std::size_t>(pencil.row[slot]) * n + column;
                numbers[1 + at] = pencil.g[slot];
                numbers[1 + n * n + at] = pencil.c[slot];
            }
        }
        for (std::size_t k = 0; k < n; ++k) {
            numbers[1 + 2 * n * n + k] = one.b[k].real();
            numbers[1 + 2 * n * n + n + k] = one.c[k].real();
        }
        std::ofstream file(folder + "/" + name + ".bin", std::ios::binary);
        file.write(reinterpret_cast<const char*>(numbers.data()),
                   static_cast<std::streamsize>(numbers.size() * sizeof(double)));
        if (!file) throw std::runtime_error("cannot write to " + folder);
    }
}

}  // namespace lowhiss::bench
