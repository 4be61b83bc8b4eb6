#pragma once

#include <optional>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/mechanism.hpp"
#include "lowhiss/measure/capsule_loading.hpp"
#include "lowhiss/measure/distortion.hpp"
#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/measure/part_rolloff.hpp"
#include "lowhiss/measure/plans.hpp"
#include "lowhiss/measure/source_noise.hpp"
#include "lowhiss/quantity/band.hpp"
#include "lowhiss/solver/account.hpp"
#include "lowhiss/sweep/behaviour.hpp"

namespace lowhiss {

struct SweepRequest {
    std::vector<double> frequency_hz;   ///< ascending
    std::vector<double> knob;           ///< empty: the board's own positions
    std::vector<std::string> variants;  ///< empty: the plain board; "" is the plain board
    std::vector<std::string> capsules;  ///< empty: the assembly's own
    Band band;
    bool rolloff = true;
    bool behaviour = true;           ///< headroom, stability, rejection, output
    std::vector<double> cables_f{};  ///< capacitances on the output to try for stability
    bool source = false;             ///< noise with other sources
    bool distortion = false;         ///< harmonics at the level of the board's limit, and loudest
};

/// Single figures of one knob position; unset where one does not exist.
struct Measures {
    double gain_1khz_db = unset;
    double gain_20hz_db = unset;
    double gain_20khz_db = unset;
    double gain_from_terminals_1khz_db = unset;
    double low_corner_hz = unset;
    double high_corner_hz = unset;
    double polarity = unset;  ///< 1 in phase, -1 inverted, 0 neither
    double input_impedance_1khz_ohm = unset;
    double input_impedance_ohm = unset;   ///< the measure: least over the band
    double output_impedance_ohm = unset;  ///< the measure: most over the band
    double output_noise_v = unset;
    double ein_v = unset;
    double ein_dbu = unset;
    double ein_a_dbu = unset;
    double ein_468_dbu = unset;
    double noise_figure_db = unset;
    double capsule_effect_20hz_db = unset;
    double capsule_effect_1khz_db = unset;
    double capsule_effect_20khz_db = unset;
    double capsule_noise_rise_db = unset;
};

/// One noise source, over the band; unset where its noise cannot be told from rounding.
struct NoiseShare {
    std::string part;
    Mechanism mechanism;
    double output_v = 0;                ///< rms
    double share = 0;                   ///< of the output noise power, 0 to 1
    std::vector<double> output_v_rthz;  ///< on the grid
};

/// One knob position; the lists are on the request's grid.
struct KnobResult {
    double position = unset;
    double resistance_ohm = unset;
    std::vector<double> gain_db, phase_deg, group_delay_s, capsule_effect_db,
        gain_from_terminals_db;
    std::vector<double> input_impedance_ohm, input_impedance_deg;
    std::vector<double> output_noise_v_rthz, input_noise_v_rthz;
    std::vector<double> max_input_v, common_mode_rejection_db, output_impedance_ohm;
    Measures measures;
    Behaviour behaviour;
    std::vector<NoiseShare> noise_by_part;    ///< largest first
    std::vector<PartRolloff> rolloff;         ///< in the board's order
    PartBassLoss corner_loss;                 ///< at the lower corner
    PartBassLoss bass_loss;                   ///< at 20 Hz
    CapsuleLoading loading;                   ///< in the audio band
    std::vector<AssumedIdeal> assumes_ideal;  ///< the figures that are best cases
    SolverAccount account;                    ///< of the responses behind these figures
    std::optional<SourceNoise> source;        ///< if the request asked for it
    /// If the request asked for it, at 1 kHz and 20 Hz each: at the level of the board's first
    /// limit on harmonics, else at 0 dBu, then at the largest sine of the headroom.
    std::vector<Distortion> distortion;
};

struct SweepRun {
    std::string variant;  ///< empty: the plain board
    std::string summary;
    std::string capsule;  ///< empty: an ideal source
    std::vector<KnobResult> knob;
};

struct Sweep {
    std::string board;
    std::string revision;
    double temperature_k = 0;
    Band band;
    std::vector<double> frequency_hz;
    std::vector<SweepRun> runs;
    Diagnostics warnings;          ///< of topology, each once
    std::vector<std::string> set;  ///< what was altered for this run
};

/// Solves a board in every requested variant, with every requested capsule, at every knob position.
/// Knob positions are shared among the machine's cores; the result does not depend on how many.
/// Throws Error: unusable_input for a name that the board does not know or a sweep that is too
/// large, no_unique_solution for a circuit that topology or the solver refuses.
Sweep sweep(const Board& board, const SweepRequest& request);

/// One knob position of a sweep.
KnobResult solve_position(const Board& assembled, const Capsule* capsule, double rotation,
                          const Plans& plans, const SweepRequest& request);

}  // namespace lowhiss
