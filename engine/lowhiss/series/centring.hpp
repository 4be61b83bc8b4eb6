#pragma once

#include <optional>
#include <string>
#include <vector>

#include "lowhiss/series/spread.hpp"

namespace lowhiss {

/// A limit with two bounds that boards fail because the drawn board is off its middle, and the
/// value that brings it there.
struct Centring {
    Verdict limit;                   ///< of the drawn board
    double off_sigma = unset;        ///< drawn figure less the middle, over the sigma of the series
    std::vector<std::string> parts;  ///< changed together: one part, or those of a matched group
    Unit unit = Unit::ohm;
    double drawn = unset;  ///< the parts' value
    double value = unset;  ///< the value instead, of the E-series that goes with the tolerance
    std::string series;    ///< "E24"
    double off_sigma_then = unset;
    Yield yield;       ///< of all limits, as drawn; of the first 1000 boards of a longer series
    Yield yield_then;  ///< of the same random numbers with the other value
};

/// The E series that IEC 60063 associates with a tolerance: E24 with 5 %, E96 with 1 %.
std::string series_for(const Tolerance& tolerance);

/// For the limit with two bounds that most boards fail. Nothing if no board fails one, if the drawn
/// figure is within a quarter of sigma of the middle, or if no preferred value of one resistor,
/// capacitor or inductor within a factor of two meets every limit and makes more boards good.
std::optional<Centring> find_centring(const Board& board, const SpreadRequest& request,
                                      const Spread& spread, const Watch& watch = {});

}  // namespace lowhiss
