#pragma once

namespace lowhiss {

/// A range of frequencies; by default the audio band.
struct Band {
    double from_hz = 20;
    double to_hz = 20000;
};

}  // namespace lowhiss
