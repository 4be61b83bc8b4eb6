#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "lowhiss/analysis/phase.hpp"
#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/sweep.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

constexpr double degrees = 180 / std::numbers::pi;

double db_of(Complex ratio) { return db_from_ratio(std::abs(ratio)); }

SolverAccount sum(const SolverAccount& a, const SolverAccount& b) {
    return {a.factorisations + b.factorisations, a.solutions + b.solutions,
            a.fallbacks + b.fallbacks,
            std::max(a.worst_backward_error, b.worst_backward_error)};
}

/// A figure that may be infinite by its nature does not exist then.
double or_unset(double figure) { return std::isfinite(figure) ? figure : unset; }

/// The capsule with its impedance set to zero; what it hisses of itself stays.
Circuit build_ideal(const Board& board, const Capsule* capsule, double rotation) {
    if (!capsule || !std::holds_alternative<ElectretCapsule>(capsule->impedance)) {
        return build_circuit(board, rotation, nullptr);
    }
    Capsule ideal = *capsule;
    std::get<ElectretCapsule>(ideal.impedance).output_resistance_ohm = 0;
    return build_circuit(board, rotation, &ideal);
}

/// One knob position under solution: the network, and the same with an ideal source in front.
class PositionSolver {
  public:
    PositionSolver(const Board& board, const Capsule* capsule, double rotation,
                   const SweepRequest& request)
        : request_(request),
          network_(build_circuit(board, rotation, capsule)),
          ideal_(build_ideal(board, capsule, rotation)),
          has_capsule_(capsule != nullptr) {
        result_.position = board.knob ? rotation : unset;
        result_.resistance_ohm = network_.circuit().knob_ohm;
    }

    KnobResult solve() {
        solve_grid();
        solve_figures();
        solve_noise();
        if (request_.rolloff) solve_rolloff();
        result_.account = sum(network_.account(), ideal_.account());
        return std::move(result_);
    }

  private:
    double effect_db(const Response& response) {
        if (!has_capsule_) return 0;
        return or_unset(db_of(response.gain / ideal_.respond(response.frequency_hz).gain));
    }

    void solve_grid() {
        std::vector<Response> responses;
        std::vector<std::vector<double>> noise;
        for (const double f_hz : request_.frequency_hz) {
            responses.push_back(network_.respond(f_hz));
            const Response& r = responses.back();
            result_.gain_db.push_back(or_unset(db_of(r.gain)));
            result_.terminal_gain_db.push_back(or_unset(db_of(r.gain / r.terminal_gain)));
            result_.group_delay_s.push_back(or_unset(group_delay_s(r)));
            result_.capsule_effect_db.push_back(effect_db(r));
            result_.input_impedance_ohm.push_back(or_unset(std::abs(r.input_impedance_ohm)));
            result_.input_impedance_deg.push_back(
                or_unset(std::arg(r.input_impedance_ohm) * degrees));
            noise.push_back(network_.noise_by_group(r));
            const double output = std::sqrt(
                std::accumulate(noise.back().begin(), noise.back().end(), 0.0));
            result_.output_noise_v_rthz.push_back(output);
            result_.input_noise_v_rthz.push_back(or_unset(output / std::abs(r.gain)));
        }
        for (const double phase : unwrapped_phase(network_, responses, reference_hz)) {
            result_.phase_deg.push_back(or_unset(phase * degrees));
        }
        grid_noise_ = std::move(noise);
    }

    void solve_figures() {
        Measures& m = result_.measures;
        reference_ = network_.respond(reference_hz);
        const Response low = network_.respond(request_.band.from_hz);
        const Response high = network_.respond(request_.band.to_hz);
        m.gain_1khz_db = or_unset(db_of(reference_.gain));
        m.gain_20hz_db = or_unset(db_of(low.gain));
        m.gain_20khz_db = or_unset(db_of(high.gain));
        m.terminal_gain_1khz_db = or_unset(db_of(reference_.gain / reference_.terminal_gain));
        m.input_impedance_1khz_ohm = or_unset(std::abs(reference_.input_impedance_ohm));
        m.capsule_effect_1khz_db = effect_db(reference_);
        m.capsule_effect_20hz_db = effect_db(low);
        m.capsule_effect_20khz_db = effect_db(high);
        if (reference_.gain == Complex{}) return;
        m.low_corner_hz = corner_hz(network_, reference_, Corner::low);
        m.high_corner_hz = corner_hz(network_, reference_, Corner::high);
    }

    void solve_noise() {
        Measures& m = result_.measures;
        const OutputNoise noise = integrate_noise(network_, request_.band);
        const double gain = std::abs(reference_.gain);
        m.output_noise_v = std::sqrt(noise.power_v2);
        m.ein_v = or_unset(m.output_noise_v / gain);
        m.ein_dbu = or_unset(dbu_from_v(m.ein_v));
        m.ein_a_dbu = or_unset(dbu_from_v(std::sqrt(noise.a_weighted_v2) / gain));
        m.ein_468_dbu = or_unset(dbu_from_v(std::sqrt(noise.weighted_468_v2) / gain));
        m.noise_figure_db = noise_figure_db(noise);
        const double bare_v2 =
            has_capsule_ ? integrate_noise(ideal_, request_.band).power_v2 : noise.power_v2;
        m.capsule_noise_rise_db = or_unset(db_from_power_ratio(noise.power_v2 / bare_v2));
        share_noise(noise);
    }

    double noise_figure_db(const OutputNoise& noise) const {
        const auto& groups = network_.circuit().noise_groups;
        for (std::size_t k = 0; k < groups.size(); ++k) {
            if (groups[k].part == capsule_part && groups[k].mechanism == Mechanism::thermal) {
                return or_unset(db_from_power_ratio(noise.power_v2 / noise.by_group_v2[k]));
            }
        }
        return unset;
    }

    void share_noise(const OutputNoise& noise) {
        const auto& groups = network_.circuit().noise_groups;
        for (std::size_t k = 0; k < groups.size(); ++k) {
            NoiseShare share{groups[k].part, groups[k].mechanism, std::sqrt(noise.by_group_v2[k]),
                             noise.by_group_v2[k] / noise.power_v2, {}};
            for (const auto& at_frequency : grid_noise_) {
                share.output_v_rthz.push_back(std::sqrt(at_frequency[k]));
            }
            result_.noise_by_part.push_back(std::move(share));
        }
        std::stable_sort(
            result_.noise_by_part.begin(), result_.noise_by_part.end(),
            [](const NoiseShare& a, const NoiseShare& b) { return a.share > b.share; });
    }

    void solve_rolloff() {
        for (const Rolloff& rolloff : bass_rolloff(network_)) {
            const auto part = static_cast<std::size_t>(rolloff.part);
            result_.rolloff.push_back({network_.circuit().parts[part].name, rolloff});
        }
    }

    const SweepRequest& request_;
    Network network_;
    Network ideal_;
    bool has_capsule_;
    Response reference_;
    std::vector<std::vector<double>> grid_noise_;
    KnobResult result_;
};

}  // namespace

KnobResult solve_position(const Board& assembled, const Capsule* capsule, double rotation,
                          const SweepRequest& request) {
    return PositionSolver(assembled, capsule, rotation, request).solve();
}

}  // namespace lowhiss
