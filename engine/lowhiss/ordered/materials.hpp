#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/ordered/match.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// How a list of materials is to be read. A column that is not named here is guessed from the
/// header, and a note says which one was taken.
struct MaterialsOptions {
    std::string designator_column;
    std::string value_column;
    std::vector<std::string> unfitted;  ///< a row with such a cell is of parts that are not fitted
};

struct MaterialsItem {
    std::string device;
    std::string value;
    bool fitted = true;
    Position at;
};

struct Materials {
    std::string path;
    std::vector<MaterialsItem> items;
    std::vector<ReadingNote> notes;
};

/// Reports every mistake to `out`; nothing after an error, which includes columns that cannot be
/// guessed.
std::optional<Materials> read_materials(const std::shared_ptr<const Source>& file,
                                        const MaterialsOptions& options, Diagnostics& out);

/// The designators of one cell: "R1, R2 R4-R7".
std::vector<std::string> designators_in(std::string_view cell);

/// A value as lists of materials write it, "22R 1% 0603" or "4,7k", with the tolerance if it has
/// one, as a fraction.
struct ListedValue {
    double value;
    std::optional<double> tolerance;
};
std::optional<ListedValue> listed_value(std::string_view text, Unit unit);

/// Compares values, tolerances and what is fitted in one assembly.
Match match_materials(const Board& assembled, const Materials& materials);

}  // namespace lowhiss
