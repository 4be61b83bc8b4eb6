#pragma once

#include <memory>
#include <optional>
#include <string_view>

#include "lowhiss/ordered/nets.hpp"

namespace lowhiss {

/// Whether the text looks like a test file of IPC-D-356A: its first line that says anything is a
/// comment, a parameter or a test record.
bool is_test_file(std::string_view text);

/// The nets of a bare-board test file by IPC-D-356A (Bare Substrate Electrical Test Data Format,
/// 1998): the records 317, 327, 307 and 367 with their continuations; all others are counted.
/// Columns beyond 31 are not read, as writers disagree about them. Reports a file without test
/// records, or in which no two pins are connected, to `out`, and then returns nothing.
std::optional<OrderedNets> read_test_file(const std::shared_ptr<const Source>& file,
                                          Diagnostics& out);

}  // namespace lowhiss
