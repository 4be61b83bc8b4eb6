#pragma once

#include <span>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/plans.hpp"
#include "lowhiss/measure/standard_figures.hpp"

namespace lowhiss {

enum class Outcome { met, missed, not_computed };

/// How one limit came out at one knob position of one assembly.
struct Verdict {
    std::string limit;
    std::string measure;
    Unit unit = Unit::number;
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    double knob = unset;  ///< unset: over all positions, or there is no knob
    double value = unset;
    double at_hz = unset;  ///< where it was found; of a mask its worst frequency
    double min = unset;    ///< of a mask, at that frequency
    double max = unset;
    double margin = unset;     ///< to the nearer bound, in the unit; negative: missed
    double margin_db = unset;  ///< the same made comparable between units
    Outcome outcome = Outcome::not_computed;
    bool is_mask = false;              ///< `value` is of the worst frequency, on each board its own
    std::string reason;                ///< why it could not be computed, or why no bound says it
    std::vector<std::string> look_at;  ///< parts that move the figure most; of missed limits only
};

/// What is asked of one board.
struct CheckRequest {
    const Board* board;
    std::vector<Limit> limits;
    bool figures = false;                 ///< for a baseline
    bool advice = true;                   ///< which parts to look at, of every missed limit
    std::vector<std::string> variants{};  ///< empty: all, and the plain board, which is ""
    const PlanShelf* plans = nullptr;     ///< of a like board; null: each assembly makes its own
    std::vector<double> response_hz{};    ///< where the gain curves are wanted
    bool stability = false;   ///< a verdict for each knob position where the circuit is not stable
    bool all_figures = true;  ///< false: without those that are dear to find
};

/// Plans of every assembly that the request is about.
PlanShelf plans_for(const CheckRequest& request);

/// What came of it: every limit over variants, capsules and knob positions, and every standard
/// figure of each variant with its own capsule.
struct BoardCheck {
    std::vector<Verdict> verdicts;
    std::vector<Figure> figures;
    /// Gain in dB of each variant with its own capsule, by knob position, then frequency.
    std::vector<double> response_db;
};

/// A circuit that cannot be solved gives verdicts and figures that say so, never an exception.
/// Assemblies of all boards are shared among the machine's cores; the order of the result does not
/// depend on it.
std::vector<BoardCheck> check_boards(std::span<const CheckRequest> requests);

/// One board, on the calling thread alone.
BoardCheck check_board(const CheckRequest& request);

/// The parts that move a limit's figure most when each is made 1 % larger, at most three; for a
/// measure of noise, the parts with most noise at the output.
std::vector<std::string> parts_to_look_at(const Limit& limit, Assembly& assembly, double rotation,
                                          double at_hz);

}  // namespace lowhiss
