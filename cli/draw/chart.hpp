#pragma once

#include <optional>
#include <string>
#include <utility>
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
    std::vector<double> y;     ///< NaN where it is not defined
    std::vector<double> low;   ///< of a band or an area, its lower edge
    std::string short_name{};  ///< for narrow places; empty: the name
    int colour = -1;           ///< number of its colour; -1: the next one
    int pattern = 0;           ///< number of its pattern of dashes; 0: solid
    bool rest = false;         ///< an area of all parts that have none of their own
};

/// The whole that the shares of a stack divide.
struct Breakdown {
    std::string at;             ///< "knob 25 %", or empty
    std::string unit;           ///< of the whole: "nV/√Hz"
    std::string where;          ///< "at the input"
    std::vector<double> whole;  ///< at each frequency
    /// Parts of the area of all others that are among the largest at some frequency, in percent.
    std::vector<std::pair<std::string, std::vector<double>>> beyond;
};

/// A picture of curves over one list of frequencies.
struct Chart {
    std::string title;
    std::string y_label;  ///< quantity and unit: "gain, dB"
    bool log_y = false;
    std::vector<double> frequency_hz;
    std::vector<Curve> curves;
    bool by_knob = false;  ///< curves are knob positions, drawn in steps of one colour scale
    bool in_text = false;  ///< drawn in block characters too
    std::optional<Breakdown> breakdown{};
};

/// The charts of one page, under one title.
struct ChartSheet {
    std::string title;
    std::vector<Chart> charts;
};

/// "knob 25 %", or empty.
std::string knob_name(double position);

/// Gain, phase and noise at the input by knob position; noise by part at the most gain; the
/// capsule's effect.
ChartSheet sheet_of(const Sweep& sweep, const SweepRun& run);

/// Gain and noise of several runs, a curve each, by the names given.
ChartSheet sheet_of_runs(const std::string& title, const std::vector<double>& frequency_hz,
                         const std::vector<std::pair<std::string, const KnobResult*>>& runs);

/// The same of sweep runs, each at its position of most gain, which the title names if it is one
/// and the curves if they differ.
ChartSheet sheet_at_most_gain(const std::string& title, const std::vector<double>& frequency_hz,
                              const std::vector<std::pair<std::string, const SweepRun*>>& runs);

/// Adds the limits on gain to its chart: masks, and bounds at one frequency.
void add_bounds(const std::vector<Limit>& limits, const std::string& variant, Chart& gain);

/// The band in which the gain of all boards lies.
ChartSheet sheet_of(const std::string& title, const Envelope& envelope);

}  // namespace lowhiss::cli
