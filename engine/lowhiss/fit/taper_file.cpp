#include "lowhiss/fit/taper_file.hpp"

#include "lowhiss/text/lines.hpp"

namespace lowhiss {
namespace {

constexpr const char* taper_columns =
    "a header, rotation,fraction or rotation,resistance_ohm, then a line for each position";

}  // namespace

std::optional<TaperPositions> read_taper_file(const std::shared_ptr<const Source>& file,
                                              Diagnostics& out) {
    Faults faults(file, "bad-taper", out);
    TextLines lines(file->text);
    TaperPositions read;
    bool headed = false;
    while (const auto line = lines.next()) {
        if (faults.full()) break;
        if (line->text.empty() || line->text.front() == '#') continue;
        const std::vector<Token> cells = cells_of(*line);
        if (!has_columns(2, cells, taper_columns, faults)) continue;
        if (!headed) {
            headed = true;
            read.in_ohm = cells[1].text == "resistance_ohm";
            const bool known = read.in_ohm || cells[1].text == "fraction";
            if (cells[0].text != "rotation" || !known) {
                faults.add(cells[0], "the first line does not name these columns", taper_columns);
            }
            continue;
        }
        const auto rotation = read_number(cells[0], faults);
        const auto value = read_number(cells[1], faults);
        if (rotation && (*rotation < 0 || *rotation > 1)) {
            faults.add(cells[0], "the rotation is not between 0 and 1", "0 to 1");
        } else if (value && *value < 0) {
            faults.add(cells[1], "the value is negative", "0 or more");
        } else if (rotation && value) {
            read.positions.emplace_back(*rotation, *value);
        }
    }
    if (!headed) faults.add_for_file("there is no position", taper_columns);
    if (faults.any()) return std::nullopt;
    return read;
}

}  // namespace lowhiss
