#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/text/open.hpp"

namespace lowhiss {

/// A definition such as [opamp.NAME], wherever it was found.
struct ModelDefinition {
    std::string table;  ///< "opamp", "preamp_ic", "capsule" or "battery"
    Member definition;
};

/// A board file with what it is based on merged in and what it includes gathered.
struct LoadedBoard {
    Node::Table tables;
    std::vector<ModelDefinition> models;
    std::vector<std::shared_ptr<const Source>> files;  ///< in the order they were opened
    bool complete = true;  ///< false if one is missing or broken, so that what it says is unknown
};

/// What [board] may say.
const std::vector<std::string>& board_keys();

LoadedBoard load_board(const std::string& path, const FileReader& reader, Diagnostics& out);

}  // namespace lowhiss
