#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

/// Figures that the model of some fitted amplifiers or transistors leaves out, and that a measure
/// depends on.
struct ModelGap {
    std::vector<std::string> parts;
    std::string model;
    std::vector<std::string_view> keys;
};

/// A measure whose figure is a best case for that reason.
struct AssumedIdeal {
    std::string_view measure;
    ModelGap gap;
};

/// "U1, U2: tl072 has no cmrr, psrr"
std::string text_of(const ModelGap& gap);
/// The same for several, "; " between them.
std::string text_of(const std::vector<ModelGap>& gaps);

}  // namespace lowhiss
