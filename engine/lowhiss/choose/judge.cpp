#include "lowhiss/choose/judge.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/registry.hpp"

namespace lowhiss {
namespace {

constexpr double missed_altogether_db = 1000;

bool is_fast(const Limit& limit) {
    const MeasureRecord& record = record_of(*limit.measure);
    return limit.mask.empty() && (record.slope != nullptr || record.slope_over_knob != nullptr);
}

double missed_db(const Verdict& v) {
    if (is_good(v)) return 0;
    if (v.outcome != Outcome::fail || !std::isfinite(v.margin_db)) return missed_altogether_db;
    return std::min(missed_altogether_db, -v.margin_db);
}

/// The verdicts on the aim's figure, which has no name and no bounds, moved out of the others.
std::vector<Verdict> take_figures(std::vector<Verdict>& verdicts) {
    const auto named =
        std::stable_partition(verdicts.begin(), verdicts.end(),
                              [](const Verdict& v) { return !v.of_limit || !v.limit.empty(); });
    std::vector<Verdict> figures(std::make_move_iterator(named),
                                 std::make_move_iterator(verdicts.end()));
    verdicts.erase(named, verdicts.end());
    return figures;
}

/// The place where the figure is worst; one where it does not exist is worse than any.
Verdict worst_of(const std::vector<Verdict>& figures, Choose::Aim aim) {
    Verdict worst;
    bool first = true;
    for (const Verdict& v : figures) {
        if (std::isnan(v.value)) return v;
        const bool worse =
            aim == Choose::Aim::least ? v.value > worst.value : v.value < worst.value;
        if (first || worse) worst = v;
        first = false;
    }
    return worst;
}

}  // namespace

bool operator<(const Score& a, const Score& b) {
    if (a.missed_db != b.missed_db) return a.missed_db < b.missed_db;
    return a.key < b.key;
}

double room_of(const std::vector<Verdict>& verdicts) {
    double room = unset;
    for (const Verdict& v : verdicts) {
        if (!v.of_limit || !std::isfinite(v.min) || !std::isfinite(v.max)) continue;
        const double half = (v.max - v.min) / 2;
        room = std::fmin(room, half > 0 ? v.margin / half : 0);
    }
    return room;
}

Judge::Judge(const Board& board) : board_(board) {
    for (const Limit& limit : board.limits) (is_fast(limit) ? fast_ : slow_).push_back(limit);
    if (choose().aim == Choose::Aim::centred) return;
    Limit figure = choose().figure;
    figure.name.clear();
    (is_fast(figure) ? fast_ : slow_).push_back(std::move(figure));
}

std::shared_ptr<const PlanShelf> Judge::plans_for_structure(const ValueSet& values) const {
    ValueSet structure(values.size(), 0);
    for (std::size_t k = 0; k < values.size(); ++k) {
        if (choose().open[k].changes_structure) structure[k] = values[k];
    }
    const std::scoped_lock lock(planning_);
    const auto known = plans_.find(structure);
    if (known != plans_.end()) return known->second;
    std::shared_ptr<const PlanShelf> plans;
    try {
        const Board board = board_with_values(board_, structure);
        CheckRequest request{&board, fast_};
        request.limits.insert(request.limits.end(), slow_.begin(), slow_.end());
        plans = std::make_shared<const PlanShelf>(plans_for(request));
    } catch (const Error&) {
        plans = nullptr;  // the verdicts say why
    }
    plans_.emplace(structure, plans);
    return plans;
}

double Judge::key_of(const std::vector<Verdict>& limits, const Verdict& figure) const {
    switch (choose().aim) {
        case Choose::Aim::least:
            return figure.value;
        case Choose::Aim::most:
            return -figure.value;
        case Choose::Aim::centred:
            return -room_of(limits);
    }
    return unset;
}

Score Judge::score(const ValueSet& values, std::vector<int>* met) const {
    const Board board = board_with_values(board_, values);
    const auto plans = plans_for_structure(values);
    if (met) met->assign(board_.limits.size(), -1);
    Score score;
    std::vector<Verdict> all;
    std::vector<Verdict> figures;
    const auto judge = [&](const std::vector<Limit>& limits) {
        if (limits.empty()) return;
        CheckRequest request{&board, limits};
        request.advice = request.model_gaps = false;
        request.plans = plans.get();
        std::vector<Verdict> verdicts = check_board(request).verdicts;
        for (Verdict& figure : take_figures(verdicts)) figures.push_back(std::move(figure));
        for (const Verdict& v : verdicts) score.missed_db += missed_db(v);
        for (std::size_t k = 0; met && k < board_.limits.size(); ++k) {
            for (const Verdict& v : verdicts) {
                if (v.limit != board_.limits[k].name) continue;
                (*met)[k] = is_good(v) && (*met)[k] != 0 ? 1 : 0;
            }
        }
        std::move(verdicts.begin(), verdicts.end(), std::back_inserter(all));
    };
    judge(fast_);
    if (score.missed_db == 0)
        judge(slow_);
    else
        score.missed_db += missed_altogether_db * static_cast<double>(slow_.size());
    if (score.missed_db > 0) return score;
    score.key = key_of(all, worst_of(figures, choose().aim));
    if (std::isnan(score.key)) score = {missed_altogether_db, 0};
    return score;
}

bool Judge::Verdicts::good() const {
    return std::all_of(limits.begin(), limits.end(), is_good);
}

Judge::Verdicts Judge::verdicts(const Board& board) const {
    CheckRequest request{&board, board_.limits};
    if (choose().aim != Choose::Aim::centred) {
        request.limits.push_back(choose().figure);
        request.limits.back().name.clear();
    }
    request.stability = true;
    Verdicts result;
    result.limits = check_board(request).verdicts;
    const std::vector<Verdict> figures = take_figures(result.limits);
    result.figure = worst_of(figures, choose().aim);
    result.room = room_of(result.limits);
    return result;
}

}  // namespace lowhiss
