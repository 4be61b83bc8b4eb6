// One point: A(f) x = b and A(f)^T y = c at a new frequency, the structure known. Each peer is used
// as its authors advise, and its gains are compared with the reference path's before it is timed.
// lowhiss refines and checks every solution's backward error; the peers do neither.

#include <benchmark/benchmark.h>
#include <klu.h>

#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <cmath>
#include <map>
#include <memory>

#include "boards.hpp"

namespace lowhiss::bench {
namespace {

using Vector = Eigen::VectorXcd;
using Sparse = Eigen::SparseMatrix<Complex>;

/// A solver under test. Its sum of c^T x over the grid keeps the compiler from dropping work and is
/// compared.
class Peer {
  public:
    explicit Peer(const Case& the_case)
        : case_(the_case), values_(static_cast<std::size_t>(the_case.network->pencil().slots())) {}
    virtual ~Peer() = default;
    virtual void solve(std::span<const double> frequency_hz, std::vector<Complex>& gains) = 0;

  protected:
    Vector vector_of(const std::vector<Complex>& values) const {
        return Eigen::Map<const Vector>(values.data(), static_cast<Eigen::Index>(values.size()));
    }
    void evaluate_at(double f_hz) { evaluate(case_.network->pencil(), f_hz, values_); }

    const Case& case_;
    std::vector<Complex> values_;
};

class EigenDense : public Peer {
  public:
    explicit EigenDense(const Case& the_case)
        : Peer(the_case), b_(vector_of(the_case.b)), c_(vector_of(the_case.c)) {}

    void solve(std::span<const double> frequency_hz, std::vector<Complex>& gains) override {
        const Pencil& pencil = case_.network->pencil();
        Eigen::MatrixXcd a(pencil.size, pencil.size);
        for (const double f_hz : frequency_hz) {
            evaluate_at(f_hz);
            a.setZero();
            for (int column = 0; column < pencil.size; ++column) {
                for (int k = pencil.column_start[static_cast<std::size_t>(column)];
                     k < pencil.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
                    const auto slot = static_cast<std::size_t>(k);
                    a(pencil.row[slot], column) = values_[slot];
                }
            }
            lu_.compute(a);
            const Vector x = lu_.solve(b_);
            const Vector y = lu_.transpose().solve(c_);
            benchmark::DoNotOptimize(y.data());
            gains.push_back((c_.transpose() * x)(0));
        }
    }

  private:
    Vector b_, c_;
    Eigen::PartialPivLU<Eigen::MatrixXcd> lu_;
};

class EigenSparse : public Peer {
  public:
    explicit EigenSparse(const Case& the_case)
        : Peer(the_case), b_(vector_of(the_case.b)), c_(vector_of(the_case.c)) {
        const Pencil& pencil = the_case.network->pencil();
        evaluate_at(1000);
        a_ =
            Eigen::Map<const Sparse>(pencil.size, pencil.size, pencil.slots(),
                                     pencil.column_start.data(), pencil.row.data(), values_.data());
        a_.makeCompressed();
        lu_.analyzePattern(a_);
    }

    void solve(std::span<const double> frequency_hz, std::vector<Complex>& gains) override {
        for (const double f_hz : frequency_hz) {
            evaluate_at(f_hz);
            std::copy(values_.begin(), values_.end(), a_.valuePtr());
            lu_.factorize(a_);
            const Vector x = lu_.solve(b_);
            const Vector y = lu_.transpose().solve(c_);
            benchmark::DoNotOptimize(y.data());
            gains.push_back((c_.transpose() * x)(0));
        }
    }

  private:
    Vector b_, c_;
    Sparse a_;
    Eigen::SparseLU<Sparse> lu_;
};

/// Refactors with the pivots it has, and factorises anew where its cheap condition estimate or its
/// pivot growth says that they do not suit.
class Klu : public Peer {
  public:
    explicit Klu(const Case& the_case) : Peer(the_case), pencil_(the_case.network->pencil()) {
        klu_defaults(&common_);
        symbolic_ = klu_analyze(pencil_.size, columns(), rows(), &common_);
        factor(1000);
    }
    ~Klu() override {
        klu_z_free_numeric(&numeric_, &common_);
        klu_free_symbolic(&symbolic_, &common_);
    }
    Klu(const Klu&) = delete;
    Klu& operator=(const Klu&) = delete;

    void solve(std::span<const double> frequency_hz, std::vector<Complex>& gains) override {
        for (const double f_hz : frequency_hz) {
            evaluate_at(f_hz);
            klu_z_refactor(columns(), rows(), numbers(values_), symbolic_, numeric_, &common_);
            klu_z_rcond(symbolic_, numeric_, &common_);
            if (common_.status != KLU_OK || common_.rcond < 1e-14) {
                ++refactored_;
                factor(f_hz);
            }
            x_ = case_.b;
            y_ = case_.c;
            klu_z_solve(symbolic_, numeric_, pencil_.size, 1, numbers(x_), &common_);
            klu_z_tsolve(symbolic_, numeric_, pencil_.size, 1, numbers(y_), 0, &common_);
            Complex gain = 0;
            for (std::size_t k = 0; k < x_.size(); ++k) gain += case_.c[k] * x_[k];
            gains.push_back(gain);
        }
    }

  private:
    // KLU's interface knows no const and takes complex numbers as pairs.
    int* columns() { return const_cast<int*>(pencil_.column_start.data()); }
    int* rows() { return const_cast<int*>(pencil_.row.data()); }
    static double* numbers(std::vector<Complex>& v) { return reinterpret_cast<double*>(v.data()); }

    void factor(double f_hz) {
        evaluate_at(f_hz);
        if (numeric_) klu_z_free_numeric(&numeric_, &common_);
        numeric_ = klu_z_factor(columns(), rows(), numbers(values_), symbolic_, &common_);
    }

    const Pencil& pencil_;
    klu_common common_{};
    klu_symbolic* symbolic_ = nullptr;
    klu_numeric* numeric_ = nullptr;
    std::vector<Complex> x_, y_;
    int refactored_ = 0;
};

class Ours : public Peer {
  public:
    explicit Ours(const Case& the_case)
        : Peer(the_case), solver_(the_case.network->plan(), the_case.network->pencil()) {
        for (std::size_t k = 0; k < case_.c.size(); ++k) {
            if (case_.c[k] != 0.0) outputs_.push_back(k);
        }
    }

    void solve(std::span<const double> frequency_hz, std::vector<Complex>& gains) override {
        solver_.solve_at(frequency_hz, case_.b, case_.c, [&](const SolvedLanes& solved) {
            for (std::size_t lane = 0; lane < solved.count; ++lane) {
                Complex gain = 0;
                for (const std::size_t k : outputs_) gain += case_.c[k] * solved.x_at(k, lane);
                gains.push_back(gain);
            }
        });
    }

  private:
    Solver solver_;
    std::vector<std::size_t> outputs_;
};

std::unique_ptr<Peer> make_peer(const std::string& name, const Case& the_case) {
    if (name == "eigen-dense") return std::make_unique<EigenDense>(the_case);
    if (name == "eigen-sparse") return std::make_unique<EigenSparse>(the_case);
    if (name == "klu") return std::make_unique<Klu>(the_case);
    return std::make_unique<Ours>(the_case);
}

/// Every gain within 1e-9 of the reference path's.
bool agrees(Peer& peer, const Case& the_case, const std::vector<double>& grid) {
    ReferenceSolver reference(the_case.network->pencil());
    std::vector<Complex> gains;
    peer.solve(grid, gains);
    for (std::size_t k = 0; k < grid.size(); ++k) {
        reference.factorise(grid[k]);
        const std::vector<Complex> x = reference.solve(the_case.b);
        Complex gain = 0;
        for (std::size_t i = 0; i < x.size(); ++i) gain += the_case.c[i] * x[i];
        if (!(std::abs(gains[k] - gain) <= 1e-9 * std::abs(gain))) return false;
    }
    return true;
}

/// The real multiply-adds that a factorisation and two solutions take at each frequency.
double multiply_adds(const Plan& plan) {
    if (!plan.program) return 0;
    const Program& p = *plan.program;
    const std::size_t triangles = p.each.lower.slots.size() + p.each.upper.slots.size();
    const std::size_t once = p.lower.once.size() + p.upper.once.size();
    const std::size_t solution = triangles + once + p.steps();
    return 4 * static_cast<double>(p.each.targets.size() + triangles + 2 * solution);
}

void solve_points(benchmark::State& state, const Case& the_case, const std::string& peer_name,
                  int frequencies = 64) {
    // Slow boards get fewer frequencies, but enough to fill the lanes.
    const std::vector<double> grid =
        grid_hz(the_case.network->pencil().size > 1000 ? 8 : frequencies);
    const auto peer = make_peer(peer_name, the_case);
    if (!agrees(*peer, the_case, grid)) {
        state.SkipWithError("its gains are not those of the reference path");
        return;
    }
    std::vector<Complex> gains;
    for (auto _ : state) {
        gains.clear();
        peer->solve(grid, gains);
        benchmark::DoNotOptimize(gains.data());
    }
    const auto points = static_cast<double>(grid.size());
    state.counters["per_point"] = benchmark::Counter(
        points, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
    state.counters["unknowns"] = the_case.network->pencil().size;
    if (const auto& program = the_case.network->plan()->program) {
        state.counters["once"] = static_cast<double>(program->once_steps());
        state.counters["lane_slots"] = program->slots;
    }
    state.counters["slots"] = the_case.network->pencil().slots();
    state.counters["multiply_adds"] = multiply_adds(*the_case.network->plan());
}

}  // namespace

void register_solvers() {
    static std::map<std::string, Case> cases;
    for (const char* name : {"wren", "tern", "heron-c", "curlew", "bittern"}) {
        cases.emplace(name, demo_case(name));
    }
    const auto add = [&](Case one) { cases.emplace(one.name, std::move(one)); };
    for (const int nodes : {100, 1000, 10000}) add(ladder_case(nodes));
    for (const int side : {10, 32, 100}) add(mesh_case(side));
    for (const auto& [name, the_case] : cases) {
        for (const std::string peer : {"eigen-dense", "eigen-sparse", "klu", "lowhiss"}) {
            if (the_case.network->pencil().size > 500 && peer == "eigen-dense") continue;
            if (the_case.network->pencil().size > 5000 && peer == "eigen-sparse") continue;
            const Case* const at = &the_case;
            benchmark::RegisterBenchmark(
                ("solve/" + name + "/" + peer).c_str(),
                [at, peer](benchmark::State& state) { solve_points(state, *at, peer); });
        }
    }
    for (const int frequencies : {8, 64, 512, 4096}) {
        benchmark::RegisterBenchmark(("frequencies/" + std::to_string(frequencies)).c_str(),
                                     [frequencies](benchmark::State& state) {
                                         solve_points(state, cases.at("heron-c"), "lowhiss",
                                                      frequencies);
                                     });
    }
}

}  // namespace lowhiss::bench
