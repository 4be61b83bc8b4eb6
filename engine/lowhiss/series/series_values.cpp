#include "lowhiss/series/series_values.hpp"

#include <atomic>
#include <cmath>
#include <map>
#include <mutex>
#include <stdexcept>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/model_gaps.hpp"

namespace lowhiss {
namespace {

CheckRequest request_for(const Board& board, const SpreadRequest& request, const PlanShelf* plans) {
    CheckRequest check{&board, request.limits, request.figures, false, {request.variant}, plans};
    if (request.figures) check.response_hz = response_grid_hz();
    check.all_figures = false;
    check.supply = true;
    check.model_gaps = plans == nullptr;  // of the nominal board, whose answer holds for all
    return check;
}

SeriesValues room_for(const SpreadRequest& request, const BoardCheck& nominal) {
    const std::vector<double> none(request.count, unset);
    return {request.first,
            request.count,
            {nominal.verdicts.size(), {none, none}},
            {nominal.figures.size(), none},
            std::vector<double>(nominal.response_db.size(), unset),
            std::vector<double>(nominal.response_db.size(), unset),
            none};
}

void put(const BoardCheck& check, std::size_t k, SeriesValues& series) {
    for (std::size_t i = 0; i < series.limits.size(); ++i) {
        series.limits[i].values[k] = check.verdicts[i].value;
        series.limits[i].margins[k] = check.verdicts[i].margin;
    }
    for (std::size_t i = 0; i < series.figures.size(); ++i) {
        series.figures[i][k] = check.figures[i].value;
    }
    series.faults[k] = static_cast<double>(check.faults.size());
}

/// A limit that the models of the nominal board leave undecided is met by no board.
void keep_unknown(const BoardCheck& nominal, SeriesValues& series) {
    for (std::size_t i = 0; i < series.limits.size(); ++i) {
        if (nominal.verdicts[i].outcome != Outcome::not_known) continue;
        for (double& margin : series.limits[i].margins) margin = unset;
    }
}

/// fmin and fmax skip unset values, which are NaN.
void widen(const std::vector<double>& least_db, const std::vector<double>& most_db,
           SeriesValues& series) {
    for (std::size_t i = 0; i < series.least_db.size(); ++i) {
        series.least_db[i] = std::fmin(series.least_db[i], least_db[i]);
        series.most_db[i] = std::fmax(series.most_db[i], most_db[i]);
    }
}

void find_best_cases(const Board& board, const std::string& variant, std::vector<Figure>& figures) {
    const std::string capsule = with_variant(board, variant_named(board, variant)).input.capsule;
    Assembly assembly(board, variant, capsule);
    ModelGaps gaps(assembly.board());
    if (!gaps.any()) return;
    for (Figure& figure : figures) {
        const MeasureRecord& measure = *figure.figure->measure;
        if (measure.rests_on.empty() || measure.over_knob || !figure.trouble.empty()) continue;
        Setting& setting = assembly.setting(std::isnan(figure.knob) ? 0 : figure.knob);
        figure.best_case =
            !gaps.behind(measure, figure.figure->arguments, setting, figure.value).empty();
    }
}

void cut(SeriesValues& series, std::size_t count) {
    series.count = count;
    for (LimitValues& limit : series.limits) {
        limit.values.resize(count);
        limit.margins.resize(count);
    }
    for (std::vector<double>& figure : series.figures) figure.resize(count);
    series.faults.resize(count);
}

using Column = std::vector<double>& (*)(SeriesValues& stretch, std::size_t index);

std::vector<double>& limit_values(SeriesValues& stretch, std::size_t index) {
    return stretch.limits[index].values;
}
std::vector<double>& limit_margins(SeriesValues& stretch, std::size_t index) {
    return stretch.limits[index].margins;
}
std::vector<double>& figure_values(SeriesValues& stretch, std::size_t index) {
    return stretch.figures[index];
}
std::vector<double>& fault_counts(SeriesValues& stretch, std::size_t) {
    return stretch.faults;
}

/// Appends to the column of the first stretch those of all others.
void join(Column column, std::size_t index, std::vector<SeriesValues>& stretches,
          std::size_t count) {
    std::vector<double> whole;
    whole.reserve(count);
    for (SeriesValues& stretch : stretches) {
        std::vector<double>& part = column(stretch, index);
        whole.insert(whole.end(), part.begin(), part.end());
        part = {};
    }
    column(stretches.front(), index) = std::move(whole);
}

bool follows(const SeriesValues& next, const SeriesValues& before) {
    return next.first == before.first + before.count &&
           next.limits.size() == before.limits.size() &&
           next.figures.size() == before.figures.size() &&
           next.least_db.size() == before.least_db.size();
}

}  // namespace

std::vector<double> response_grid_hz() {
    constexpr double from_hz = 20;
    constexpr int per_decade = 10;
    constexpr int decades = 3;
    std::vector<double> grid;
    for (int k = 0; k <= decades * per_decade; ++k) {
        grid.push_back(from_hz * std::pow(10, k / static_cast<double>(per_decade)));
    }
    return grid;
}

BoardCheck check_nominal(const Board& board, const SpreadRequest& request) {
    CheckRequest request_of_nominal = request_for(board, request, nullptr);
    request_of_nominal.advice = true;
    BoardCheck nominal = check_board(request_of_nominal);
    find_best_cases(board, request.variant, nominal.figures);
    return nominal;
}

SeriesValues compute_series(const Board& board, const SpreadRequest& request,
                            const BoardCheck& nominal, const Watch& watch) {
    SeriesValues series = room_for(request, nominal);
    std::atomic<std::size_t> done{0};
    std::mutex reporting;
    std::mutex widening;
    std::map<std::size_t, std::string> without;
    const PlanShelf plans = plans_for(request_for(board, request, nullptr));
    const auto compute = [&](std::size_t k) {
        const Board drawn = random_board(board, request.series, request.first + k);
        const BoardCheck check = check_board(request_for(drawn, request, &plans));
        put(check, k, series);
        std::string why = why_without_solution(check);
        {
            const std::scoped_lock lock(widening);
            widen(check.response_db, check.response_db, series);
            if (!why.empty()) without.emplace(k, std::move(why));
        }
        ++done;
        // A concurrent reporter will include this board.
        if (const std::unique_lock lock(reporting, std::try_to_lock); lock) watch.progress(done);
    };
    cut(series, on_all_cores_until(watch.stop, request.count, compute));
    keep_unknown(nominal, series);
    for (const auto& [k, why] : without) series.without_solution.push_back(request.first + k);
    if (!without.empty()) series.why_without = without.begin()->second;
    return series;
}

std::string why_without_solution(const BoardCheck& check) {
    for (const Figure& figure : check.figures) {
        if (figure.no_solution) return figure.trouble;
    }
    for (const Verdict& verdict : check.verdicts) {
        if (verdict.no_solution) return verdict.reason;
    }
    return "";
}

SeriesValues joined(std::vector<SeriesValues>&& stretches) {
    SeriesValues& whole = stretches.front();
    std::size_t count = whole.count;
    for (std::size_t k = 1; k < stretches.size(); ++k) {
        const SeriesValues& next = stretches[k];
        if (!follows(next, stretches[k - 1])) {
            throw std::invalid_argument("the boards to join do not follow in the same series");
        }
        widen(next.least_db, next.most_db, whole);
        auto& listed = whole.without_solution;
        if (listed.empty()) whole.why_without = next.why_without;
        listed.insert(listed.end(), next.without_solution.begin(), next.without_solution.end());
        count += next.count;
    }
    for (std::size_t i = 0; i < whole.limits.size(); ++i) {
        join(limit_values, i, stretches, count);
        join(limit_margins, i, stretches, count);
    }
    for (std::size_t i = 0; i < whole.figures.size(); ++i) {
        join(figure_values, i, stretches, count);
    }
    join(fault_counts, 0, stretches, count);
    whole.count = count;
    return std::move(whole);
}

}  // namespace lowhiss
