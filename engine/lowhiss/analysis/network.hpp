#pragma once

#include <memory>
#include <span>
#include <vector>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The circuit solved at one frequency, the capsule's electromotive force being 1 V.
struct Response {
    double frequency_hz = 0;
    Complex gain;                  ///< output volts per volt of electromotive force
    Complex gain_slope_s;          ///< d gain / d omega, exact: -y^T (dA/d omega) x
    Complex input_voltage;         ///< between the input terminals, the EMF being 1 V
    Complex input_impedance_ohm;   ///< looking into the board; not finite when no current flows
    Complex output_impedance_ohm;  ///< between the output terminals, with the board's load on them

    /// The mean square output voltage density that each noise group causes, in V^2/Hz, by the
    /// adjoint: |y^T b|^2 times the source's density, sources uncorrelated.
    std::vector<double> noise_v2_hz;
};

/// A circuit made ready to be solved at any frequency. One object a thread; copying is not needed.
class Network {
  public:
    explicit Network(Circuit circuit);

    Network(const Network&) = delete;  // the solver knows where the pencil is
    Network& operator=(const Network&) = delete;

    /// With the plan of circuits of the same structure, such as those of other knob positions; with
    /// one of its own where that does not fit, or is null.
    Network(Circuit circuit, const std::shared_ptr<const Plan>& plan);

    const Circuit& circuit() const { return *circuit_; }
    const Pencil& pencil() const { return pencil_; }
    std::shared_ptr<const Plan> plan() const { return plan_; }

    /// At each frequency one factorisation, one solution and one adjoint solution, eight
    /// frequencies side by side. Throws Error: no_unique_solution naming the unknown that stays
    /// free; unusable_input outside a measured capsule's range.
    std::vector<Response> respond_all(std::span<const double> frequency_hz);
    Response respond(double frequency_hz);

    /// All unknowns, A x = b, and the adjoint, A^T y = c, c picking the output voltage. Throws as
    /// `respond` does.
    Solution solve(double frequency_hz);

    /// What other right-hand sides cause with the matrix that `solve` saw last, A x = drive, and
    /// the adjoint of other outputs, A^T y = select. Throw Singular.
    std::vector<Complex> respond_to(std::span<const Complex> drive);
    std::vector<Complex> adjoint_of(std::span<const Complex> select);
    const std::vector<Complex>& output_selection() const { return select_; }

    /// The same, of 1 in one equation: a column of the inverse.
    std::vector<Complex> respond_to_unit(int equation);

    const SolverAccount& account() const { return solver_.account(); }

  private:
    void set_sides();
    Response response_of(double frequency_hz, const SolvedLanes& solved, std::size_t lane) const;
    void add_noise(const SolvedLanes& solved, std::span<Response> responses) const;
    void check_range(double frequency_hz) const;
    [[noreturn]] void report_singular(double frequency_hz, int unknown) const;

    std::unique_ptr<const Circuit> circuit_;
    Pencil pencil_;
    std::shared_ptr<const Plan> plan_;
    Solver solver_;
    std::vector<Complex> drive_;   ///< b: 1 V in the law of the electromotive force
    std::vector<Complex> select_;  ///< c
};

double density_at(const NoiseSource& source, const Circuit& circuit, double frequency_hz);

/// The voltage of a node in a vector of unknowns; ground's is 0.
Complex node_voltage(std::span<const Complex> unknowns, int node);

}  // namespace lowhiss
