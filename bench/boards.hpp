#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/board/board.hpp"

namespace lowhiss::bench {

/// One network to be solved, with its right-hand sides.
struct Case {
    std::string name;
    std::unique_ptr<Network> network;
    std::vector<Complex> b;
    std::vector<Complex> c;
};

Board demo_board(const std::string& name);

/// A demo board with its own capsule, knob half-way.
Case demo_case(const std::string& name);

/// An RC ladder of that many nodes.
Case ladder_case(int nodes);

/// A square mesh of resistors with a capacitor at each node, corner to corner.
Case mesh_case(int side);

/// 20 Hz to 20 kHz.
std::vector<double> grid_hz(int count = 64);

/// Writes each demo case's G, C, b and c, dense, for a peer in another language: FOLDER/NAME.bin
/// holds the size and then those as doubles, by row.
void write_matrices(const std::string& folder);

/// Names a benchmark for each network and each peer.
void register_solvers();

}  // namespace lowhiss::bench
