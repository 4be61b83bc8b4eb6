#pragma once

#include <numeric>
#include <string>

#include "lowhiss/sweep/sweep.hpp"
#include "support/board_text.hpp"

namespace lowhiss::test {

/// A board from node "in" to node "out", in TOML.
struct Stage {
    std::string parts{};      ///< lines of [parts]
    std::string capsule{};    ///< lines of the capsule's table; empty for an ideal source
    std::string output{};     ///< lines of [output]
    std::string tables{};     ///< models, knob, variants
    std::string board{};      ///< lines of [board]
    std::string tap = "out";  ///< another node to listen at
};

inline std::string text_of(const Stage& stage) {
    std::string text = "[board]\n" + stage.board + "\n[parts]\n" + stage.parts;
    text += "\n[input]\nplus = \"in\"\n";
    if (!stage.capsule.empty()) text += "capsule = \"source\"\n";
    text += "\n[output]\nplus = \"" + stage.tap + "\"\n" + stage.output + "\n" + stage.tables;
    if (!stage.capsule.empty()) text += "\n[capsule.source]\n" + stage.capsule;
    return text + "\n";
}

inline Board board_of(const Stage& stage) {
    return board_from_text(text_of(stage));
}

inline Network network_of(const Stage& stage, double rotation = 0) {
    return network_of(board_of(stage), rotation);
}

inline Complex gain_of(const Stage& stage, double frequency_hz) {
    return network_of(stage).respond(frequency_hz).gain;
}

/// Everything about one knob position; no grid and no rolloff unless the request says so.
inline KnobResult solve(const Board& board, double rotation = 0, SweepRequest request = {}) {
    return solve_position(board, capsule_of(board), rotation, make_plans(board, capsule_of(board)),
                          request);
}

inline Measures measures_of(const Stage& stage) {
    SweepRequest request;
    request.rolloff = false;
    return solve(board_of(stage), 0, request).measures;
}

/// The mean square density of the output noise, in V^2/Hz.
inline double output_noise_v2_hz(Network& network, double frequency_hz) {
    const std::vector<double> groups = network.respond(frequency_hz).noise_v2_hz;
    return std::accumulate(groups.begin(), groups.end(), 0.0);
}

}  // namespace lowhiss::test
