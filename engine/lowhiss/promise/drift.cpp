#include "lowhiss/promise/drift.hpp"

#include <cmath>
#include <map>

#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

/// The value of a recorded text; unset for "none".
std::optional<double> value_of(const RecordedFigure& recorded, Unit unit, Diagnostics& out) {
    if (recorded.text == "none") return unset;
    const Node node{recorded.text, recorded.at};
    return read_figure(node, unit, Range::any, recorded.key, out);
}

void compare(double before, FigureDrift& drift) {
    const double after = drift.figure.value;
    if (std::isnan(before) && std::isnan(after)) return;
    if (drift.allowed.relative)
        drift.moved_by = before == after ? 0 : after / before - 1;
    else
        drift.moved_by = after - before;
    const bool within = std::abs(drift.moved_by) <= drift.allowed.size;
    if (!within) drift.kind = FigureDrift::Kind::moved;
}

FigureDrift drift_of(const Figure& figure, const RecordedFigure* recorded, Drift allowed,
                     Diagnostics& out) {
    using Kind = FigureDrift::Kind;
    FigureDrift drift;
    drift.key = key_of(figure);
    drift.figure = figure;
    drift.before = recorded ? recorded->text : "";
    drift.allowed = allowed;
    if (!figure.trouble.empty()) {
        drift.kind = Kind::not_computed;
        return drift;
    }
    drift.after = recorded_text(figure, allowed);
    if (!recorded) {
        drift.kind = Kind::missing;
        return drift;
    }
    if (drift.before == drift.after) return drift;  // equal to all digits that are recorded
    if (const auto before = value_of(*recorded, figure.figure->measure->unit, out)) {
        compare(*before, drift);
    }
    return drift;
}

}  // namespace

std::vector<FigureDrift> drift_from(const Baseline& baseline, std::span<const Figure> figures,
                                    const Board& board, Diagnostics& out) {
    std::map<std::string, const RecordedFigure*> recorded;
    for (const RecordedFigure& figure : baseline.figures) recorded[figure.key] = &figure;
    std::vector<FigureDrift> drifts;
    for (const Figure& figure : figures) {
        const auto found = recorded.find(key_of(figure));
        const Drift allowed = drift_allowed(board, *figure.figure->measure->schema);
        drifts.push_back(
            drift_of(figure, found == recorded.end() ? nullptr : found->second, allowed, out));
        if (found != recorded.end()) recorded.erase(found);
    }
    for (const RecordedFigure& figure : baseline.figures) {
        if (!recorded.contains(figure.key)) continue;
        FigureDrift drift;
        drift.kind = FigureDrift::Kind::obsolete;
        drift.key = figure.key;
        drift.before = figure.text;
        drifts.push_back(std::move(drift));
    }
    return drifts;
}

}  // namespace lowhiss
