#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/measure/plans.hpp"
#include "lowhiss/measure/standard_figures.hpp"
#include "lowhiss/measure/supply_faults.hpp"
#include "lowhiss/solver/account.hpp"

namespace lowhiss {

/// The name of the measure, and of the limit, of a verdict that is a fault of the supply.
inline constexpr std::string_view supply_fault_measure = "supply";

enum class Outcome {
    pass,
    fail,
    not_computed,
    not_known,  ///< the figure is a best case: a model leaves out what it depends on
    accepted    ///< a fault of the supply that the board accepts
};

/// The result of one limit at one knob position of one assembly.
struct Verdict {
    std::string limit;
    std::string measure;
    Unit unit = Unit::number;
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    double knob = unset;  ///< unset: over all positions, or there is no knob
    double value = unset;
    double at_hz = unset;  ///< where it was found; for a mask its worst frequency
    double min = unset;    ///< for a mask, that at at_hz
    double max = unset;
    double margin = unset;     ///< to the nearer bound, in the unit; negative: fail
    double margin_db = unset;  ///< the same in dB, to be compared between units
    Outcome outcome = Outcome::not_computed;
    bool of_limit = true;              ///< false: of the circuit's stability or of its supply
    bool is_mask = false;              ///< true: at_hz differs from board to board
    std::string reason;                ///< why it could not be computed, or fails without a bound
    bool no_solution = false;          ///< the circuit has none, or none that can be trusted
    std::vector<std::string> look_at;  ///< parts that move the figure most; of failed limits only
    std::vector<ModelGap> assumes_ideal{};  ///< figures of models that the figure lacks
};

/// Whether the board passes with this verdict: it is a pass, or a fault that the board accepts.
inline bool is_good(const Verdict& verdict) {
    return verdict.outcome == Outcome::pass || verdict.outcome == Outcome::accepted;
}

/// The request for one board.
struct CheckRequest {
    const Board* board;
    std::vector<Limit> limits;
    bool figures = false;                 ///< for a baseline
    bool advice = true;                   ///< which parts to look at, for every failed limit
    std::vector<std::string> variants{};  ///< "" is the plain board; empty: that and all variants
    const PlanShelf* plans =
        nullptr;  ///< of a board of the same structure; null: each assembly makes its own
    std::vector<double> response_hz{};  ///< frequencies of the gain curves
    /// Verdicts besides those of limits: one for each knob position where the circuit is not
    /// stable, and one for each fault of the supply.
    bool stability = false;
    bool supply = false;      ///< fill `BoardCheck::faults`
    bool model_gaps = true;   ///< find the limits that are not known because of the models
    bool all_figures = true;  ///< false: without the slow ones
};

/// Plans for every assembly of the request.
PlanShelf plans_for(const CheckRequest& request);

/// Every limit over variants, capsules and knob positions, and every standard figure of each
/// variant with its own capsule.
struct BoardCheck {
    std::vector<Verdict> verdicts;
    std::vector<Figure> figures;
    /// Gain in dB of each variant with its own capsule, by knob position, then frequency.
    std::vector<double> response_db;
    /// Faults of the supply that are not accepted, of every variant with its own capsule.
    std::vector<PlacedFault> faults;
    SolverAccount account;  ///< of all solutions behind limits, figures and response
};

/// If a circuit cannot be solved, its verdicts and figures say why; no Error is thrown. Assemblies
/// of all boards are shared among the machine's cores; the result does not depend on how many.
std::vector<BoardCheck> check_boards(std::span<const CheckRequest> requests);

/// One board, on the calling thread alone.
BoardCheck check_board(const CheckRequest& request);

}  // namespace lowhiss
