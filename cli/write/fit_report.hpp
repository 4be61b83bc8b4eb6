#pragma once

#include <string>
#include <variant>

#include "lowhiss/fit/fit_capsule.hpp"
#include "lowhiss/fit/fit_noise.hpp"
#include "lowhiss/fit/fit_taper.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss::cli {

struct FittedCapsule {
    CapsuleFit fit;
    std::string name;
    std::string file;
    std::size_t left_out = 0;  ///< points outside of the band
    Band band;
};

struct FittedNoise {
    NoiseFit fit;
    std::vector<NoisePoint> points;
    Unit unit = Unit::volt_per_root_hertz;
};

using Fitted = std::variant<FittedCapsule, FittedNoise, TaperFit>;

/// How good the fit is, a sentence a line; empty for a taper, which is what was measured.
std::string fit_words(const Fitted& fitted);

/// The lines that a board file takes, under the words as comments.
std::string fit_toml(const Fitted& fitted);

std::string fit_json(const Fitted& fitted);

}  // namespace lowhiss::cli
