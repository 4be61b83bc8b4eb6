#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "lowhiss/board/model.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// One figure of a model, by the key and the unit of its field.
struct ModelFigure {
    std::string_view key;
    Unit unit;
    double value;  ///< SI; unset if the model leaves it out and nothing stands in for it
};

/// A model that comes with the program.
struct LibraryModel {
    std::string table;    ///< the table that defines it: "opamp", "capsule"
    std::string name;     ///< "ne5532"
    std::string library;  ///< what a board includes to use it: "library:opamps"
    std::string word;     ///< the kind of a capsule, the polarity of a transistor; else empty
    std::string source;
    std::vector<ModelFigure> figures;  ///< every key of its table, in the order of the schema
    std::variant<OpAmpModel, PreampIcModel, BipolarModel, JfetModel, Capsule, BatteryModel> model;
};

/// All models of the program's own library, in the order of its files. Throws Error
/// (unusable_input) if one of the files is no library.
std::vector<LibraryModel> library_models();

/// The figure of that key, or null if the model's table takes none.
const ModelFigure* find_figure(const LibraryModel& model, std::string_view key);

}  // namespace lowhiss
