#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// A definition such as [opamp.NAME], wherever it was found.
struct ModelDefinition {
    std::string table;  ///< "opamp", "preamp_ic" or "capsule"
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

/// The path of a file that `from` names, relative to the folder of `from`.
std::string path_beside(const std::string& from, const std::string& named);

/// Reads one file. Reports to `out`, at `named_at`, when there is none.
std::shared_ptr<const Source> open_source(const std::string& path, const FileReader& reader,
                                          const Position& named_at, const std::string& subject,
                                          Diagnostics& out);

LoadedBoard load_board(const std::string& path, const FileReader& reader, Diagnostics& out);

}  // namespace lowhiss
