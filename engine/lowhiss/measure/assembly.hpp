#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "lowhiss/measure/setting.hpp"

namespace lowhiss {

/// A board in one variant with one capsule at its input. A knob position is solved when it is first
/// needed, and kept. One object per thread.
class Assembly {
  public:
    /// An empty `variant` is the plain board, an empty `capsule` an ideal source. `plans` are those
    /// of a board with other values that has passed the checks of topology; without them the
    /// assembly makes its own when they are needed.
    Assembly(const Board& board, const std::string& variant, const std::string& capsule,
             const Plans& plans = {});

    Assembly(const Assembly&) = delete;  // settings refer to its board
    Assembly& operator=(const Assembly&) = delete;

    const Board& board() const { return assembled_; }  ///< with the variant's changes made
    const std::string& variant() const { return variant_; }
    const std::string& capsule_name() const { return capsule_name_; }
    const Capsule* capsule() const { return capsule_; }
    const Plans& plans();

    /// The board's knob positions; one 0 where there is no knob.
    std::vector<double> positions() const;

    /// Throws Error (no_unique_solution) if topology refuses the assembly.
    Setting& setting(double rotation);

    /// The settings at all positions, in their order.
    std::vector<Setting*> settings();

    /// The gain at each of the positions, kept when a setting is forgotten.
    std::vector<double> gains_db(double frequency_hz);
    double gain_at(double rotation, double frequency_hz);

    /// Frees the memory of the setting: a thousand positions of a large board take gigabytes. No
    /// reference to it may be used afterwards.
    void forget(double rotation);

    /// The work of all settings, forgotten ones included.
    SolverAccount account() const;

  private:
    struct Slot {
        std::unique_ptr<Setting> setting;
        bool checked = false;  ///< topology accepts the circuit
    };
    Setting& unchecked(double rotation);

    Board assembled_;
    SupplyEndBoards ends_{assembled_};
    std::string variant_;
    std::string capsule_name_;
    const Capsule* capsule_;
    Plans plans_;
    bool is_accepted_;  ///< topology was checked for another board of this structure
    std::map<double, Slot> slots_;
    std::map<std::pair<double, double>, double> gains_db_;  ///< by rotation and frequency
    SolverAccount forgotten_;
};

}  // namespace lowhiss
