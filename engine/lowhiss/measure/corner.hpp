#pragma once

namespace lowhiss {

class Network;
struct Response;

enum class Corner { low, high };

/// The first frequency below (low) or above (high) 1 kHz at which |gain| is 3.0103 dB, half the
/// power, below that of `reference`, the response at 1 kHz. Found by root search, 1e-10 relative;
/// unset when there is none from 1 mHz to 1 GHz or within the range of a measured capsule. A dip
/// narrower than an eighth of a decade may be missed.
double corner_hz(Network& network, const Response& reference, Corner which);

}  // namespace lowhiss
