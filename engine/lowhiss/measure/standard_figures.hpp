#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/measure/registry.hpp"

namespace lowhiss {

class Assembly;

/// A measure with fixed arguments, under the name that baselines and comparisons know it by.
struct StandardFigure {
    std::string_view name;
    const MeasureRecord* measure;
    MeasureArguments arguments;
    bool slow = false;  ///< takes longer than all others together
};

/// The figures that describe a board: those of a knob position, then those over the whole knob.
std::span<const StandardFigure> standard_figures();

/// One standard figure of one assembly.
struct Figure {
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    double knob = unset;  ///< unset: over all positions, or there is no knob
    const StandardFigure* figure = nullptr;
    double value = unset;
    std::string trouble;       ///< why it could not be computed; empty if it was
    bool no_solution = false;  ///< the circuit has none, or none that can be trusted
    /// True if a model leaves out what the figure depends on; found only for the nominal board of a
    /// series.
    bool best_case = false;
};

/// The standard figures of one knob position, without the slow ones if they are not wanted. A
/// circuit that cannot be solved gives figures with `trouble` set; no exception is thrown.
std::vector<Figure> take_figures(Assembly& assembly, double rotation, bool slow_ones = true);

/// Those over the whole knob, if there is one.
std::vector<Figure> take_figures_over_knob(Assembly& assembly);

/// The name of the figure in a baseline: "plain, dynamic-200, knob 0.25, ein".
std::string key_of(const Figure& figure);

/// The value as written in a baseline, so that a change that does not matter changes no line:
/// rounded to a tenth of its allowance, or to 1, 2 or 5 times the power of ten below that. Never
/// finer than four decimals of a decibel or degree and six digits of others. "none" for a figure
/// that does not exist.
std::string recorded_text(const Figure& figure, const Drift& allowed);

}  // namespace lowhiss
