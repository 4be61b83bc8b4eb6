#pragma once

#include <utility>
#include <vector>

#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

class Setting;

// Noise and the source: the board's own noise at its input, and the source resistance that suits
// it. Each function puts resistances in place of the setting's capsule, and direct voltages are
// solved anew for each of them. Unset if the circuit has no solution with such a source.

/// The board's own noise at a frequency as two sources at its input, which data sheets call en and
/// in: with a source of resistance R it adds en^2 + 2 R Re c + R^2 in^2 to the square of the
/// source's voltage (Rothe and Dahlke, "Theory of noisy fourpoles", Proceedings of the IRE 44,
/// 1956). Found from three resistances, of which one is 0 and the others about en / in.
struct InputNoiseSources {
    double voltage_v_rthz;
    double current_a_rthz;
    double correlation;  ///< Re c / (en in), -1 to 1; unset where one of the two is 0
};
InputNoiseSources input_noise_sources(Setting& setting, double frequency_hz);

/// Output noise power over the part of it that a source of this resistance, at the board's
/// temperature, causes.
double noise_figure_at_db(Setting& setting, const Band& band, double source_ohm);

/// The resistance from 0.1 ohm to 10 Gohm for which the noise figure over the band is least, to 0.1
/// % where the minimum is sharp; both unset where it falls up to an end of that range.
struct BestSource {
    double resistance_ohm;
    double noise_figure_db;
};
BestSource best_source(Setting& setting, const Band& band);

/// All of these figures, at 1 kHz or over a band, and the noise figure with the resistances of
/// usual sources.
struct SourceNoise {
    InputNoiseSources at_1khz;
    BestSource best;
    std::vector<std::pair<double, double>> noise_figure_db;  ///< by source resistance, ohm
};
SourceNoise source_noise(Setting& setting, const Band& band);

}  // namespace lowhiss
