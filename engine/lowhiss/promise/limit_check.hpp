#pragma once

#include <set>
#include <vector>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/promise/check.hpp"

namespace lowhiss {

/// The limits of one assembly, rotation by rotation.
class LimitCheck {
  public:
    LimitCheck(Assembly& assembly, const CheckRequest& request);

    /// All rotations to be checked: the board's positions, then those that only limits name.
    std::vector<double> all_rotations() const;
    /// The frequencies of limits over the whole knob.
    std::set<double> frequencies_over_knob() const;

    void check_at(double rotation);
    void check_over_knob();

    /// Moves out what was found, in the order of limits and rotations.
    std::vector<Verdict> verdicts();

  private:
    struct Task {
        const Limit* limit;
        double rotation;  ///< unset: over the whole knob
        Verdict verdict{};
    };

    std::vector<Task> tasks() const;
    bool applies(const Limit& limit) const;
    std::vector<double> rotations(const Limit& limit) const;
    /// A figure that cannot be computed makes a verdict, never an exception.
    Verdict guarded(const Limit& limit, double rotation);
    void take(const Limit& limit, double rotation, Verdict& v);
    void doubt_distortion(Verdict& v) const;
    bool is_silent(double frequency_hz, double rotation);
    void find_gaps(const Limit& limit, Setting& setting, Verdict& v);

    Assembly& assembly_;
    const std::vector<Limit>& limits_;
    bool advice_;
    ModelGaps gaps_;
    bool ask_for_gaps_;
    std::vector<Task> tasks_;
};

}  // namespace lowhiss
