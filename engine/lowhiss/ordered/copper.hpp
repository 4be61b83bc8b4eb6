#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "lowhiss/ordered/nets.hpp"

namespace lowhiss {

/// Whether the text looks like a layer in the extended Gerber format.
bool is_layer(std::string_view text);

/// The nets of copper layers by their object attributes: .N, the net, and .P, designator and pin,
/// of every flash and every drawn pad (The Gerber Layer Format Specification, 2021, section 5.6).
/// Attributes may stand in comments as `G04 #@! TO.N,NET*`, as writers do for older readers.
/// Reports layers that together have no pin with a net to `out`, and then returns nothing.
std::optional<OrderedNets> read_copper(const std::vector<std::shared_ptr<const Source>>& layers,
                                       Diagnostics& out);

}  // namespace lowhiss
