#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/limit.hpp"
#include "lowhiss/series/spread.hpp"
#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// One curve, or with `low` the band between two.
struct Curve {
    enum class Kind { line, dashed, bound, band, area };
    std::string name;
    Kind kind = Kind::line;
    std::vector<double> y;    ///< NaN where there is nothing
    std::vector<double> low;  ///< of a band or an area, its lower edge
};

/// A picture of curves over one list of frequencies.
struct Chart {
    std::string title;
    std::string y_label;  ///< quantity and unit: "gain, dB"
    bool log_y = false;
    std::vector<double> frequency_hz;
    std::vector<Curve> curves;
};

/// What stands on one page, under one title.
struct ChartSheet {
    std::string title;
    std::vector<Chart> charts;
};

/// "knob 25 %", or empty.
std::string knob_name(double position);

/// Gain, phase, noise at the input by knob position; whose hiss it is, at most gain; what the
/// capsule does.
ChartSheet sheet_of(const Sweep& sweep, const SweepRun& run);

/// Gain and noise of some runs in one picture each, with names of their own.
ChartSheet sheet_of_runs(const std::string& title, const std::vector<double>& frequency_hz,
                         const std::vector<std::pair<std::string, const KnobResult*>>& runs);

/// A limit that is a curve, or a bound at one frequency, as curves of a chart of its measure.
void add_bounds(const std::vector<Limit>& limits, const std::string& variant, Chart& gain);

/// Between which curves the gain of all boards lies.
ChartSheet sheet_of(const std::string& title, const Envelope& envelope);

/// "Heron, revision C, variant condenser, capsule condenser-60p"
std::string sheet_title(const std::string& board, const std::string& revision,
                        const std::string& variant, const std::string& capsule);

}  // namespace lowhiss::cli
