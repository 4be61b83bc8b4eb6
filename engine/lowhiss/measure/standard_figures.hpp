#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/registry.hpp"

namespace lowhiss {

/// A measure with fixed arguments, under the name that baselines and comparisons know it by.
struct StandardFigure {
    std::string_view name;
    const MeasureRecord* measure;
    MeasureArguments arguments;
    bool dear = false;  ///< takes longer than all others together
};

/// What describes a board at a knob position, and over the whole knob at the end.
std::span<const StandardFigure> standard_figures();

/// One standard figure of one assembly.
struct Figure {
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    double knob = unset;  ///< unset: over all positions, or there is no knob
    const StandardFigure* figure = nullptr;
    double value = unset;
    std::string trouble;  ///< why it could not be computed; empty where it was
};

/// The standard figures of one knob position.
std::vector<Figure> take_figures(Assembly& assembly, double rotation);

/// Every standard figure at each position, and over the whole knob. A circuit that cannot be solved
/// gives figures with trouble, never an exception.
std::vector<Figure> take_figures(Assembly& assembly, bool dear_ones = true);

/// "plain, dynamic-200, knob 0.25, ein": what the figure is called in a baseline.
std::string key_of(const Figure& figure);

/// The value as a baseline has it: decibels to four decimals, others to six digits, "none" for what
/// does not exist.
std::string recorded_text(const Figure& figure);

}  // namespace lowhiss
