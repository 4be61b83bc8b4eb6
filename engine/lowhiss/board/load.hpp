#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/text/open.hpp"

namespace lowhiss {

/// A definition such as [opamp.NAME] from any of the files.
struct ModelDefinition {
    std::string table;  ///< one of the tables of models: "opamp", "capsule", "pinout"
    Member definition;
};

/// A board file merged with the boards it is based on, and the models that these files include.
struct LoadedBoard {
    Node::Table tables;
    std::vector<ModelDefinition> models;
    std::vector<std::shared_ptr<const Source>> files;  ///< in the order they were opened
    bool complete =
        true;  ///< false if a file is missing or broken, so that its contents are unknown
};

/// The keys of [board].
const std::vector<std::string>& board_keys();

LoadedBoard load_board(const std::string& path, const FileReader& reader, Diagnostics& out);

}  // namespace lowhiss
