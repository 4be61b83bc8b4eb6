#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/library_models.hpp"
#include "lowhiss/circuit/model_noise.hpp"

namespace lowhiss::cli {

struct ListedModel {
    LibraryModel model;
    double noise_v_rthz = unset;  ///< with the source that was asked for
};

/// The models of one kind.
struct ListedKind {
    std::string name;   ///< as on the command line: "opamps"
    std::string title;  ///< "Op-amps"
    /// The keys that each column may show: a model has the first that its table takes.
    std::vector<std::vector<std::string_view>> columns;
    bool with_noise = false;  ///< there is a figure for the source
    std::string where_noise;  ///< "at a gain of 60 dB"; may be empty
    std::vector<ListedModel> models;
};

struct ModelList {
    std::vector<ListedKind> kinds;
    std::optional<ModelUse> use;     ///< set if the models are sorted for a source
    std::vector<std::string> notes;  ///< sentences under the tables
};

/// Tables of 80 columns; `bold` titles on a terminal.
std::string list_text(const ModelList& list, bool bold);

std::string list_json(const ModelList& list);

}  // namespace lowhiss::cli
