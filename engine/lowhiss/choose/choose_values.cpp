#include "lowhiss/choose/choose_values.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <random>
#include <set>
#include <unordered_map>

#include "lowhiss/measure/jobs.hpp"

namespace lowhiss {
namespace {

/// Sets by score, then by number, so that the order does not depend on which was computed first.
struct JudgedSet {
    Score score;
    std::uint64_t number;

    bool operator<(const JudgedSet& other) const {
        if (score < other.score) return true;
        return !(other.score < score) && number < other.number;
    }
};

/// The sets found, and what is known of all.
class Found {
  public:
    Found(const Judge& judge, std::size_t near) : judge_(judge), most_near_(near) {
        for (const Limit& limit : judge.board().limits) counts_.push_back({limit.name});
    }

    /// May be called from several threads.
    void add(const JudgedSet& set, const std::vector<int>& met) {
        const std::scoped_lock lock(adding_);
        ++tried_;
        for (std::size_t k = 0; k < met.size(); ++k) {
            counts_[k].tried += met[k] >= 0 ? 1 : 0;
            counts_[k].meet += met[k] > 0 ? 1 : 0;
        }
        if (set.score.missed_db == 0) {
            fit_.push_back(set);
        } else {
            near_.insert(set);
            if (near_.size() > most_near_) near_.erase(std::prev(near_.end()));
        }
    }

    std::vector<JudgedSet> ranked() {
        std::sort(fit_.begin(), fit_.end());
        return fit_;
    }

    void tell(Chosen& chosen) const {
        chosen.tried = tried_;
        chosen.fit = fit_.size();
        chosen.counts = counts_;
        if (!fit_.empty()) return;
        for (const JudgedSet& set : near_) {
            const ValueSet values = value_set(judge_.choose(), set.number);
            chosen.near.push_back(
                {values, judge_.verdicts(board_with_values(judge_.board(), values))});
        }
    }

  private:
    const Judge& judge_;
    std::size_t most_near_;
    std::mutex adding_;
    std::uint64_t tried_ = 0;
    std::vector<LimitCount> counts_;
    std::vector<JudgedSet> fit_;
    std::set<JudgedSet> near_;
};

/// Reports progress, from one thread at a time.
class Counter {
  public:
    explicit Counter(const Watch& watch) : watch_(watch) {}
    void count() {
        ++done_;
        if (const std::unique_lock lock(reporting_, std::try_to_lock); lock) watch_.progress(done_);
    }

  private:
    const Watch& watch_;
    std::atomic<std::size_t> done_{0};
    std::mutex reporting_;
};

void compute_all(const Judge& judge, const Watch& watch, Found& found, Chosen& chosen) {
    Counter counter(watch);
    const auto count = static_cast<std::size_t>(chosen.sets);
    const std::size_t done = on_all_cores_until(watch.stop, count, [&](std::size_t k) {
        std::vector<int> met;
        const Score score = judge.score(value_set(judge.choose(), k), &met);
        found.add({score, k}, met);
        counter.count();
    });
    chosen.stopped = done < count;
}

/// A descent from a random set to one that no step improves.
class Descent {
  public:
    Descent(const Judge& judge, std::uint64_t seed, std::size_t start)
        : judge_(judge), random_(seed * 0x9E3779B97F4A7C15U + start) {}

    void run(const std::function<bool()>& stop) {
        ValueSet here;
        for (const OpenValue& open : judge_.choose().open) {
            here.push_back(static_cast<std::uint32_t>(random_() % open.values.size()));
        }
        Score score = score_of(here);
        while (!stop() && known_.size() < most_sets_of_a_descent) {
            const bool better = step(steps_of_one(here), here, score, stop) ||
                                step(steps_of_two(here), here, score, stop);
            if (!better) break;
        }
        end_ = {score, number_of(judge_.choose(), here)};
    }

    const JudgedSet& end() const { return end_; }

    struct Known {
        Score score;
        std::vector<int> met;
    };
    const std::unordered_map<std::uint64_t, Known>& known() const { return known_; }

  private:
    static constexpr std::size_t most_sets_of_a_descent = 5000;

    Score score_of(const ValueSet& values) {
        const std::uint64_t number = number_of(judge_.choose(), values);
        const auto found = known_.find(number);
        if (found != known_.end()) return found->second.score;
        Known known;
        known.score = judge_.score(values, &known.met);
        return known_.emplace(number, std::move(known)).first->second.score;
    }

    bool moved(ValueSet& values, std::size_t open, int by) const {
        const auto count = static_cast<std::int64_t>(judge_.choose().open[open].values.size());
        const std::int64_t to = static_cast<std::int64_t>(values[open]) + by;
        if (to < 0 || to >= count) return false;
        values[open] = static_cast<std::uint32_t>(to);
        return true;
    }

    /// One value up or down by a few places of its list, far ones first.
    std::vector<ValueSet> steps_of_one(const ValueSet& here) const {
        std::vector<ValueSet> steps;
        for (const int by : {24, -24, 12, -12, 6, -6, 3, -3, 2, -2, 1, -1}) {
            for (std::size_t k = 0; k < here.size(); ++k) {
                ValueSet values = here;
                if (moved(values, k, by)) steps.push_back(std::move(values));
            }
        }
        return steps;
    }

    /// Two values by up to two places each, together or against each other.
    std::vector<ValueSet> steps_of_two(const ValueSet& here) const {
        std::vector<ValueSet> steps;
        for (std::size_t a = 0; a < here.size(); ++a) {
            for (std::size_t b = a + 1; b < here.size(); ++b) {
                for (int by_a = -2; by_a <= 2; ++by_a) {
                    for (int by_b = -2; by_b <= 2; ++by_b) {
                        ValueSet values = here;
                        if (by_a != 0 && by_b != 0 && moved(values, a, by_a) &&
                            moved(values, b, by_b)) {
                            steps.push_back(std::move(values));
                        }
                    }
                }
            }
        }
        return steps;
    }

    /// Takes the first step, in random order, that improves the score.
    bool step(std::vector<ValueSet> steps, ValueSet& here, Score& score,
              const std::function<bool()>& stop) {
        for (std::size_t k = steps.size(); k > 1; --k)
            std::swap(steps[k - 1], steps[random_() % k]);
        for (const ValueSet& next : steps) {
            if (stop() || known_.size() >= most_sets_of_a_descent) return false;
            const Score found = score_of(next);
            if (!(found < score)) continue;
            here = next;
            score = found;
            return true;
        }
        return false;
    }

    const Judge& judge_;
    std::mt19937_64 random_;  // the standard fixes its numbers
    std::unordered_map<std::uint64_t, Known> known_;
    JudgedSet end_{};
};

void search(const Judge& judge, const ChooseRequest& request, const Watch& watch, Found& found,
            Chosen& chosen) {
    Counter counter(watch);
    std::vector<Descent> descents;
    for (std::size_t k = 0; k < request.starts; ++k) descents.emplace_back(judge, request.seed, k);
    const std::size_t done = on_all_cores_until(watch.stop, request.starts, [&](std::size_t k) {
        descents[k].run(watch.stop);
        counter.count();
    });
    chosen.stopped = done < request.starts || watch.stop();
    chosen.starts = done;
    std::set<std::uint64_t> seen;
    JudgedSet best{{unset, 0}, 0};
    for (std::size_t k = 0; k < done; ++k) {
        for (const auto& [number, known] : descents[k].known()) {
            if (seen.insert(number).second) found.add({known.score, number}, known.met);
        }
        if (k == 0 || descents[k].end() < best) best = descents[k].end();
    }
    for (std::size_t k = 0; k < done; ++k) {
        const Score& end = descents[k].end().score;
        chosen.reached += !(best.score < end) && !(end < best.score) ? 1 : 0;
    }
}

std::string reason_of(const Judge::Verdicts& verdicts) {
    for (const Verdict& v : verdicts.limits) {
        if (!is_good(v)) return v.reason.empty() ? v.limit : v.limit + ": " + v.reason;
    }
    return "";
}

/// Judges the sets in full, best first, until enough are good. The first ones are judged in any
/// case, so that a search that is stopped reports what it found.
void look_at_best(const Judge& judge, const std::vector<JudgedSet>& ranked, std::size_t wanted,
                  const Watch& watch, Chosen& chosen) {
    constexpr std::size_t most_looked_at = 100;
    constexpr std::size_t together = 8;
    for (std::size_t from = 0; from < std::min(ranked.size(), most_looked_at); from += together) {
        if (chosen.best.size() >= wanted) return;
        if (from > 0 && watch.stop()) {
            chosen.stopped = true;
            return;
        }
        const std::size_t count = std::min(together, ranked.size() - from);
        std::vector<ChosenSet> sets(count);
        on_all_cores(count, [&](std::size_t k) {
            sets[k].values = value_set(judge.choose(), ranked[from + k].number);
            sets[k].verdicts = judge.verdicts(board_with_values(judge.board(), sets[k].values));
        });
        for (ChosenSet& set : sets) {
            if (chosen.best.size() >= wanted) return;
            if (set.verdicts.good()) {
                chosen.best.push_back(std::move(set));
            } else if (++chosen.refused == 1) {
                chosen.why_refused = reason_of(set.verdicts);
            }
        }
    }
}

}  // namespace

Chosen choose_values(const Board& board, const ChooseRequest& request, const Watch& watch) {
    const Judge judge(board);
    Chosen chosen;
    chosen.sets = sets_of(judge.choose());
    chosen.complete = chosen.sets <= request.complete;
    Found found(judge, request.best);
    if (chosen.complete)
        compute_all(judge, watch, found, chosen);
    else
        search(judge, request, watch, found, chosen);
    found.tell(chosen);
    look_at_best(judge, found.ranked(), request.best, watch, chosen);
    chosen.drawn.verdicts = judge.verdicts(board);
    return chosen;
}

}  // namespace lowhiss
