#include "lowhiss/measure/series_values.hpp"

#include <atomic>
#include <mutex>
#include <stdexcept>

#include "lowhiss/measure/jobs.hpp"

namespace lowhiss {
namespace {

CheckRequest request_for(const Board& board, const SpreadRequest& request) {
    return {&board, request.limits, true, false, {request.variant}};
}

SeriesValues room_for(const SpreadRequest& request, const BoardCheck& nominal) {
    const std::vector<double> none(request.count, unset);
    return {request.first,
            request.count,
            {nominal.verdicts.size(), {none, none}},
            {nominal.figures.size(), none}};
}

void put(const BoardCheck& check, std::size_t k, SeriesValues& series) {
    for (std::size_t i = 0; i < series.limits.size(); ++i) {
        series.limits[i].values[k] = check.verdicts[i].value;
        series.limits[i].margins[k] = check.verdicts[i].margin;
    }
    for (std::size_t i = 0; i < series.figures.size(); ++i) {
        series.figures[i][k] = check.figures[i].value;
    }
}

void cut(SeriesValues& series, std::size_t count) {
    series.count = count;
    for (LimitValues& limit : series.limits) {
        limit.values.resize(count);
        limit.margins.resize(count);
    }
    for (std::vector<double>& figure : series.figures) figure.resize(count);
}

void add(std::vector<double>& to, const std::vector<double>& more) {
    to.insert(to.end(), more.begin(), more.end());
}

}  // namespace

BoardCheck check_nominal(const Board& board, const SpreadRequest& request) {
    return check_board(request_for(board, request));
}

SeriesValues compute_series(const Board& board, const SpreadRequest& request,
                            const BoardCheck& nominal, const Watch& watch) {
    SeriesValues series = room_for(request, nominal);
    std::atomic<std::size_t> done{0};
    std::mutex telling;
    const auto compute = [&](std::size_t k) {
        const Board drawn = random_board(board, request.series, request.first + k);
        put(check_board(request_for(drawn, request)), k, series);
        ++done;
        // Another thread that tells already will tell of this board the next time.
        if (const std::unique_lock lock(telling, std::try_to_lock); lock) watch.progress(done);
    };
    cut(series, on_all_cores_until(watch.stop, request.count, compute));
    return series;
}

void append(SeriesValues& series, const SeriesValues& next) {
    if (next.first != series.first + series.count || next.limits.size() != series.limits.size() ||
        next.figures.size() != series.figures.size()) {
        throw std::invalid_argument("these are not two neighbouring stretches of one series");
    }
    for (std::size_t i = 0; i < series.limits.size(); ++i) {
        add(series.limits[i].values, next.limits[i].values);
        add(series.limits[i].margins, next.limits[i].margins);
    }
    for (std::size_t i = 0; i < series.figures.size(); ++i) add(series.figures[i], next.figures[i]);
    series.count += next.count;
}

}  // namespace lowhiss
