#pragma once

namespace lowhiss {

/// A range of frequencies; the audio band unless something else is asked for.
struct Band {
    double from_hz = 20;
    double to_hz = 20000;
};

}  // namespace lowhiss
