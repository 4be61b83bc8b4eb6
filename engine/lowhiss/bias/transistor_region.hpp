#pragma once

namespace lowhiss {

/// The region that a transistor rests in. `active` of a JFET is its saturation region, `saturated`
/// its triode region. A bipolar transistor is cut off where less than 1 nA flows, and the gate of a
/// JFET conducts from 1 nA on.
enum class TransistorRegion { active, saturated, cut_off, gate_conducts, reversed };

}  // namespace lowhiss
