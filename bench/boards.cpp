#include "boards.hpp"

#include <fmt/format.h>

#include <algorithm>
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

// These are larger than any board that the reader accepts, so they are not made from text.

Board between(const std::string& input, const std::string& output) {
    Board board;
    board.input.plus.node = input;
    board.input.minus.node = board.ground;
    board.output.plus.node = output;
    board.output.minus.node = board.ground;
    return board;
}

Resistor section_resistor() {
    Resistor resistor;
    resistor.resistance_ohm = 10e3;
    return resistor;
}

Capacitor section_capacitor(double capacitance_f = 1e-12) {
    Capacitor capacitor;
    capacitor.capacitance_f = capacitance_f;
    return capacitor;
}

void add(Board& board, const PartData& data, const std::string& a, const std::string& b) {
    Part part;
    part.name = fmt::format("P{}", board.parts.size());
    part.data = data;
    part.pins = {{a, {}}, {b, {}}};
    board.parts.push_back(std::move(part));
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
    const auto name = [](int k) { return fmt::format("n{}", k); };
    // 10,000 sections of 1 pF would lose 2180 dB at 20 kHz, which leaves no signal: with these
    // capacitors a longer ladder loses as much as one of 1000 nodes.
    const double farad = 1e-12 * std::min(1.0, std::pow(1000.0 / nodes, 2));
    Board board = between(name(0), name(nodes - 1));
    for (int k = 1; k < nodes; ++k) {
        add(board, section_resistor(), name(k - 1), name(k));
        add(board, section_capacitor(farad), name(k), "gnd");
    }
    return case_of(fmt::format("ladder-{}", nodes), board);
}

Case mesh_case(int side) {
    const auto name = [](int row, int column) { return fmt::format("n{}_{}", row, column); };
    Board board = between(name(0, 0), name(side - 1, side - 1));
    for (int row = 0; row < side; ++row) {
        for (int column = 0; column < side; ++column) {
            const std::string node = name(row, column);
            add(board, section_capacitor(), node, "gnd");
            if (column + 1 < side) add(board, section_resistor(), node, name(row, column + 1));
            if (row + 1 < side) add(board, section_resistor(), node, name(row + 1, column));
        }
    }
    return case_of(fmt::format("mesh-{}", side * side), board);
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
