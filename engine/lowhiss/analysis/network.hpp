#pragma once

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

// Analysis: takes a circuit for small signals and returns its response, noise, margins, natural
// frequencies and sensitivities. This file has the network that the other analyses solve, and its
// response at a frequency.

/// The circuit solved at one frequency for an electromotive force of 1 V.
struct Response {
    double frequency_hz = 0;
    Complex gain;                  ///< output voltage over electromotive force; 0 for no signal
    Complex gain_slope_s;          ///< d gain / d omega, exact: -y^T (dA/d omega) x
    Complex input_voltage;         ///< between the input terminals
    Complex input_impedance_ohm;   ///< of the board; not finite if no current flows
    Complex output_impedance_ohm;  ///< between the output terminals, the load included

    /// The mean square density of the output voltage that each noise group causes, in V^2/Hz, by
    /// the adjoint: the sum of |y^T b|^2 times the density over its uncorrelated sources.
    std::vector<double> noise_v2_hz;
};

/// A circuit prepared for solution at any frequency. One object per thread.
class Network {
  public:
    explicit Network(Circuit circuit);

    Network(const Network&) = delete;  // the solver refers to the pencil
    Network& operator=(const Network&) = delete;

    /// `plan` may be one for circuits of the same structure, such as other knob positions. If it
    /// does not fit or is null, the network makes its own.
    Network(Circuit circuit, const std::shared_ptr<const Plan>& plan);

    /// The same; references to the circuit stay valid.
    Network(std::unique_ptr<const Circuit> circuit, const std::shared_ptr<const Plan>& plan);

    const Circuit& circuit() const { return *circuit_; }
    const Pencil& pencil() const { return pencil_; }
    std::shared_ptr<const Plan> plan() const { return plan_; }

    /// See Solver::neglect_gains_below.
    void neglect_gains_below(double gain) { solver_.neglect_gains_below(gain); }

    /// One factorisation, one solution and one adjoint solution per frequency, eight frequencies
    /// side by side. Throws Error: no_unique_solution, naming the unknown that is not determined
    /// and its part; unusable_input outside the range of a measured capsule.
    std::vector<Response> respond_all(std::span<const double> frequency_hz);
    Response respond(double frequency_hz);

    /// All unknowns, A x = b, and the adjoint, A^T y = c, where c^T x is the output voltage. Throws
    /// as `respond` does.
    Solution solve(double frequency_hz);

    /// Solutions for other right-hand sides with the matrix of the last `solve`, A x = drive, and
    /// adjoints of other outputs, A^T y = select. Throw as `respond` does.
    std::vector<Complex> respond_to(std::span<const Complex> drive);
    std::vector<Complex> adjoint_of(std::span<const Complex> select);

    /// A x = drive at each frequency, eight side by side. Throws as `respond` does.
    std::vector<std::vector<Complex>> respond_to(std::span<const Complex> drive,
                                                 std::span<const double> frequency_hz);
    const std::vector<Complex>& output_selection() const { return select_; }

    /// The solution for 1 in one equation: a column of the inverse.
    std::vector<Complex> respond_to_unit(int equation);

    /// See natural_frequencies.hpp; found when it is first asked for.
    const std::vector<Complex>& natural_frequencies_rad_s();

    const SolverAccount& account() const { return solver_.account(); }

  private:
    void set_sides();
    Response response_of(double frequency_hz, const SolvedLanes& solved, std::size_t lane) const;
    void add_noise(const SolvedLanes& solved, std::span<Response> responses) const;
    void check_range(double frequency_hz) const;
    /// What `solve` returns; throws Error for Singular.
    template <class Solve>
    auto reported(Solve solve) const;
    [[noreturn]] void report_singular(double frequency_hz, int unknown) const;

    std::unique_ptr<const Circuit> circuit_;
    Pencil pencil_;
    std::shared_ptr<const Plan> plan_;
    Solver solver_;
    std::vector<Complex> drive_;   ///< b: 1 V in the law of the electromotive force
    std::vector<Complex> select_;  ///< c
    std::optional<std::vector<Complex>> natural_frequencies_;
};

/// The mean square density of a noise source.
double density_at(const NoiseSource& source, const Circuit& circuit, double frequency_hz);

/// Output volts for one volt or ampere that is injected there, by the adjoint y.
Complex transfer_of(const Injection& injection, std::span<const Complex> y);

/// The voltage of a node in a vector of unknowns; ground's is 0.
Complex node_voltage(std::span<const Complex> unknowns, int node);

}  // namespace lowhiss
