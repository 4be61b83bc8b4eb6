#include "lowhiss/board/mask_file.hpp"

#include <optional>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/lines.hpp"

namespace lowhiss {
namespace {

constexpr std::string_view mask_columns =
    "3 columns: frequency_hz, min, max; leave a cell empty for no bound";

/// A bound in the measure's unit; unset where the cell is empty.
std::optional<double> bound_in(const Token& cell, Faults& faults) {
    return cell.text.empty() ? unset : read_number(cell, faults);
}

void read_mask_line(const std::vector<Token>& cells, std::vector<MaskPoint>& points,
                    Faults& faults) {
    if (!has_columns(3, cells, mask_columns, faults)) return;
    const auto frequency_hz = read_number(cells[0], faults);
    const auto min = bound_in(cells[1], faults);
    const auto max = bound_in(cells[2], faults);
    if (frequency_hz && !(*frequency_hz > 0)) {
        faults.add(cells[0], quote(cells[0].text) + " is not a frequency above zero",
                   "positive frequencies");
    } else if (min && max && *min > *max) {
        faults.add(cells[1], "'min' is above 'max'", "'min' no higher than 'max'");
    } else if (frequency_hz && min && max) {
        points.push_back({*frequency_hz, *min, *max});
    }
}

}  // namespace

std::vector<MaskPoint> read_mask_file(const std::shared_ptr<const Source>& file, Diagnostics& out) {
    Faults faults(file, "bad-mask", out);
    std::vector<MaskPoint> points;
    TextLines lines(file->text);
    bool first = true;
    for (auto line = lines.next(); line && !faults.full(); line = lines.next()) {
        const std::string_view content = trimmed(line->text);
        if (content.empty() || content.starts_with('#')) continue;
        const std::vector<Token> cells = cells_of(*line);
        if (std::exchange(first, false) && is_header(cells)) continue;
        read_mask_line(cells, points, faults);
    }
    return points;
}

}  // namespace lowhiss
