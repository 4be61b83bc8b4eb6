#include "lowhiss/solver/plan.hpp"

#include <algorithm>
#include <array>
#include <iterator>

#include "lowhiss/solver/matrix.hpp"
#include "lowhiss/solver/planner.hpp"

namespace lowhiss {
namespace {

constexpr std::array representative_hz{20.0, 1e3, 5e4};

/// Limits on the Markowitz product of pivots of `once`: many such pivots leave a small but dense
/// rest. All limits are tried for boards of usual size, a middle one for larger boards, where each
/// try takes time.
constexpr std::array dearest_steps{-1.0, 0.0, 2.0, 4.0, 9.0, 16.0};
constexpr double dearest_once_of_large = 4;
constexpr int usual_size = 200;

/// Slots that depend on frequency in any of the pencils.
std::vector<bool> varying_slots(std::span<const Pencil* const> pencils) {
    std::vector<bool> varies(static_cast<std::size_t>(pencils.front()->slots()));
    for (const Pencil* pencil : pencils) {
        for (std::size_t k = 0; k < varies.size(); ++k) varies[k] = varies[k] || pencil->c[k] != 0;
        for (const auto& measured : pencil->measured) {
            varies[static_cast<std::size_t>(measured.slot)] = true;
        }
    }
    return varies;
}

Samples samples_of(std::span<const Pencil* const> pencils) {
    const Pencil& first = *pencils.front();
    const auto n = static_cast<std::size_t>(first.size);
    const auto slots = static_cast<std::size_t>(first.slots());
    Samples samples;
    samples.size = first.size;
    samples.count = pencils.size() * representative_hz.size();
    samples.rows.resize(n);
    samples.columns.resize(n);
    samples.values.resize(slots * samples.count);
    samples.varies = varying_slots(pencils);
    samples.barred_row.resize(n);
    samples.barred_column.resize(n);
    for_each_slot(first, [&](std::size_t row, std::size_t column, std::size_t slot) {
        samples.rows[row].push_back({static_cast<int>(column), static_cast<int>(slot)});
        samples.columns[column].push_back({static_cast<int>(row), static_cast<int>(slot)});
        for (const auto& measured : first.measured) {
            if (static_cast<std::size_t>(measured.slot) != slot) continue;
            samples.barred_row[row] = true;
            samples.barred_column[column] = true;
        }
    });
    std::vector<Complex> values(slots);
    std::size_t sample = 0;
    for (const Pencil* pencil : pencils) {
        for (const double f_hz : representative_hz) {
            evaluate(*pencil, f_hz, values);
            const Scaling scaling = equilibrate(*pencil, values);
            for_each_slot(first, [&](std::size_t row, std::size_t column, std::size_t slot) {
                samples.values[slot * samples.count + sample] =
                    values[slot] * scaling.row[row] * scaling.column[column];
            });
            ++sample;
        }
    }
    return samples;
}

/// The work per frequency, roughly in cycles of a core that processes eight lanes at once.
double cost_of(const Recording& recording) {
    double cost = 0;
    for (std::size_t k = 0; k < recording.steps.size(); ++k) {
        const auto lower = static_cast<double>(recording.steps[k].lower.size());
        const auto upper = static_cast<double>(recording.steps[k].upper.size());
        if (k >= recording.once_steps) cost += 40 + lower * (5 + 6 * upper);
        cost += 4 * 5 * (lower + upper);
    }
    return cost;
}

std::optional<Recording> cheapest(const Samples& samples) {
    if (samples.size > usual_size) return eliminate(samples, dearest_once_of_large);
    std::optional<Recording> best;
    for (const double dearest : dearest_steps) {
        std::optional<Recording> found = eliminate(samples, dearest);
        if (found && (!best || cost_of(*found) < cost_of(*best))) best = std::move(found);
    }
    return best;
}

/// Writes the two parts of a program from the steps of a recording.
class Dealer {
  public:
    explicit Dealer(const Recording& recording)
        : recording_(recording),
          slot_(static_cast<std::size_t>(recording.slots), -1),
          step_of_row_(recording.steps.size()),
          step_of_column_(recording.steps.size()) {
        for (std::size_t k = 0; k < recording.steps.size(); ++k) {
            const auto& step = recording.steps[k];
            program_.row_of.push_back(step.row);
            program_.column_of.push_back(step.column);
            step_of_row_[static_cast<std::size_t>(step.row)] = static_cast<int>(k);
            step_of_column_[static_cast<std::size_t>(step.column)] = static_cast<int>(k);
        }
    }

    Program deal() {
        program_.once_slots = recording_.once_slots;
        std::size_t first_of_each = 0;
        for (std::size_t k = 0; k < recording_.steps.size(); ++k) {
            const Recording::Step& step = recording_.steps[k];
            const bool is_once = k < recording_.once_steps;
            if (is_once) first_of_each += step.lower.size() * step.upper.size();
            deal_step(static_cast<int>(k), step, is_once);
        }
        const auto middle = recording_.targets.begin() + static_cast<std::ptrdiff_t>(first_of_each);
        program_.once.targets.assign(recording_.targets.begin(), middle);
        // Only now do all slots have their new numbers.
        std::transform(middle, recording_.targets.end(), std::back_inserter(program_.each.targets),
                       [&](int slot) { return numbered(slot); });
        sort_for_the_way_back(program_.upper);
        sort_for_the_way_back(program_.lower_transposed);
        return std::move(program_);
    }

  private:
    int numbered(int slot) {
        int& number = slot_[static_cast<std::size_t>(slot)];
        if (number < 0) {
            number = program_.slots++;
            program_.origin.push_back(slot < recording_.once_slots ? slot : -1);
        }
        return number;
    }

    void deal_step(int k, const Recording::Step& step, bool is_once) {
        Program& p = program_;
        Elimination& elimination = is_once ? p.once : p.each;
        const auto number = [&](int slot) { return is_once ? slot : numbered(slot); };
        const auto list = [&](Triangle& triangle) -> std::vector<Term>& {
            return is_once ? triangle.once : triangle.each;
        };
        elimination.pivot.push_back(number(step.pivot));
        for (const Cell& cell : step.lower) {
            const int slot = number(cell.slot);
            const int i = step_of_row_[static_cast<std::size_t>(cell.index)];
            elimination.lower.slots.push_back(slot);
            list(p.lower).push_back({i, k, slot});
            list(p.lower_transposed).push_back({k, i, slot});
        }
        for (const Cell& cell : step.upper) {
            const int slot = number(cell.slot);
            const int j = step_of_column_[static_cast<std::size_t>(cell.index)];
            elimination.upper.slots.push_back(slot);
            list(p.upper).push_back({k, j, slot});
            list(p.upper_transposed).push_back({j, k, slot});
        }
        elimination.lower.end_step();
        elimination.upper.end_step();
    }

    /// In back substitution the values of later steps become final first.
    static void sort_for_the_way_back(Triangle& triangle) {
        for (auto* terms : {&triangle.once, &triangle.each}) {
            std::stable_sort(terms->begin(), terms->end(),
                             [](const Term& a, const Term& b) { return a.from > b.from; });
        }
    }

    const Recording& recording_;
    std::vector<int> slot_;  ///< the number in `each`, -1: none yet
    std::vector<int> step_of_row_;
    std::vector<int> step_of_column_;
    Program program_;
};

template <class Eliminate>
Plan plan_by(Eliminate eliminate_samples, std::span<const Pencil* const> pencils) {
    const Pencil& first = *pencils.front();
    std::vector<Complex> values(static_cast<std::size_t>(first.slots()));
    evaluate(first, representative_hz[1], values);
    const Samples samples = samples_of(pencils);
    Plan plan{first.size, equilibrate(first, values), samples.varies, std::nullopt};
    const std::optional<Recording> recording = eliminate_samples(samples);
    if (recording) plan.program = Dealer(*recording).deal();
    return plan;
}

}  // namespace

Plan make_plan(std::span<const Pencil* const> pencils) {
    return plan_by(cheapest, pencils);
}

Plan make_plan(const Pencil& pencil) {
    const Pencil* const one = &pencil;
    return make_plan({&one, 1});
}

Plan plan_for_roots(const Pencil& pencil) {
    const Pencil* const one = &pencil;
    return plan_by([](const Samples& samples) { return eliminate(samples, dearest_steps.back()); },
                   {&one, 1});
}

bool fits(const Plan& plan, const Pencil& pencil) {
    if (plan.size != pencil.size || plan.varies.size() != pencil.row.size()) return false;
    for (std::size_t k = 0; k < plan.varies.size(); ++k) {
        if (pencil.c[k] != 0 && !plan.varies[k]) return false;
    }
    return std::all_of(pencil.measured.begin(), pencil.measured.end(), [&](const auto& measured) {
        return plan.varies[static_cast<std::size_t>(measured.slot)];
    });
}

}  // namespace lowhiss
