#pragma once

#include <optional>
#include <string>
#include <vector>

#include "lowhiss/ordered/match.hpp"
#include "lowhiss/ordered/materials.hpp"
#include "lowhiss/text/file_reader.hpp"

namespace lowhiss {

/// All that a board is ordered by.
struct Ordered {
    std::vector<OrderedNets> nets;  ///< of each test file, and of all copper layers together
    std::vector<std::pair<std::string, Materials>> materials;  ///< by the variant's name
};

/// The files of the data, and how they are to be read.
struct OrderedFiles {
    std::vector<std::string> paths;  ///< each known by its content; materials are the plain board's
    std::vector<std::pair<std::string, std::string>> materials;  ///< variant and path
    MaterialsOptions reading;
};

/// Reports every mistake to `out`; nothing if there is an error. All files together may have
/// `most_file_bytes`.
std::optional<Ordered> read_ordered(const OrderedFiles& files, const FileReader& reader,
                                    Diagnostics& out);

/// A finding and the assemblies that have it.
struct ReportedFinding {
    OrderFinding finding;
    std::vector<std::string> variants;  ///< empty: all
};

struct MatchReport {
    std::string board;
    std::string revision;
    std::string path;
    std::vector<std::string> set;           ///< alterations of the board for this run
    std::vector<ReportedFinding> findings;  ///< the worst first
    std::vector<std::string> not_compared;
    std::vector<std::string> notes;
    std::vector<ExchangedUnit> units;  ///< without any effect
    std::size_t parts = 0;
    std::size_t pins = 0;
    std::size_t nodes = 0;
};

/// Compares every assembly of the board with the data. A finding that several assemblies share is
/// reported once.
MatchReport match_ordered(const Board& board, const Ordered& ordered);

}  // namespace lowhiss
