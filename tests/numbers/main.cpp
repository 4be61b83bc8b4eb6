// lowhiss_numbers COUNT [FIRST]: so many random circuits of 5 to 60 nodes, values over twelve
// decades, each solved as a sweep does, its gain held against extended precision: elimination in
// long doubles, and in fifty digits where those do not agree to 1e-10, and for one in a hundred.
// Says how many were refused and how many fell back; status 1 where a gain that was not refused is
// off by more than 1e-9 of itself, or of the gain below which a response counts as none.

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <random>
#include <string_view>
#include <thread>

#include "lowhiss/topology/check.hpp"
#include "support/equations.hpp"
#include "support/made_board.hpp"

namespace lowhiss {
namespace {

constexpr double most_error = 1e-9;
constexpr double agreed = 1e-10;
constexpr double smallest_gain = 1e-6;  // as Network takes it
constexpr std::uint64_t exact_every = 100;
constexpr int decades = 18;

struct Random {
    std::mt19937_64 numbers;
    int whole(int from, int to) { return std::uniform_int_distribution<int>(from, to)(numbers); }
    double unit() { return std::uniform_real_distribution<double>(0, 1)(numbers); }
};

struct Tally {
    std::uint64_t circuits = 0;
    std::uint64_t by_topology = 0;      ///< refused before any number was computed
    std::uint64_t rightly_refused = 0;  ///< singular in fifty digits too
    std::uint64_t wrongly_refused = 0;  ///< has a solution in fifty digits
    std::uint64_t fell_back = 0;        ///< circuits that the reference path had to solve
    std::uint64_t singular = 0;         ///< solved, but singular in fifty digits
    std::uint64_t in_fifty_digits = 0;
    std::uint64_t solved = 0;
    std::uint64_t off = 0;
    double worst = 0;
    std::uint64_t worst_seed = 0;
    std::array<std::uint64_t, decades> by_decade{};  ///< of errors: from 1e-1 down

    void note_error(double error, std::uint64_t seed) {
        ++solved;
        off += !(error <= most_error);
        const double decade = error > 0 ? std::floor(-std::log10(error)) : decades;
        ++by_decade[static_cast<std::size_t>(std::clamp(decade, 0.0, decades - 1.0))];
        if (error <= worst) return;
        worst = error;
        worst_seed = seed;
    }

    void add(const Tally& other) {
        circuits += other.circuits;
        by_topology += other.by_topology;
        rightly_refused += other.rightly_refused;
        wrongly_refused += other.wrongly_refused;
        fell_back += other.fell_back;
        singular += other.singular;
        in_fifty_digits += other.in_fifty_digits;
        solved += other.solved;
        off += other.off;
        for (std::size_t k = 0; k < by_decade.size(); ++k) by_decade[k] += other.by_decade[k];
        if (other.worst <= worst) return;
        worst = other.worst;
        worst_seed = other.worst_seed;
    }
};

/// The gain of the equations as they were stamped; none where they are singular.
template <class Number>
std::optional<Number> gain_in(const Network& network, double f_hz, double least_pivot) {
    const Circuit& circuit = network.circuit();
    std::vector<Number> b(static_cast<std::size_t>(network.pencil().size));
    b[static_cast<std::size_t>(circuit.emf_current)] = Number(1);
    try {
        const auto x =
            test::SparseElimination<Number>(test::matrix_of<Number>(network.pencil(), f_hz),
                                            std::move(b), least_pivot)
                .solve();
        return x[static_cast<std::size_t>(circuit.output_plus) - 1];
    } catch (const std::domain_error&) {
        return std::nullopt;
    }
}

template <class Number>
double error_of(Complex gain, const Number& exact) {
    const Number difference = exact - Number(gain.real(), gain.imag());
    return test::size_of(difference) / std::max(std::abs(gain), smallest_gain);
}

void try_one(std::uint64_t seed, Tally& tally) {
    ++tally.circuits;
    Random random{std::mt19937_64(seed)};
    const double f_hz = std::pow(10, 6 * random.unit());
    // As many small ones as large ones.
    const int nodes = static_cast<int>(std::round(5 * std::pow(12, random.unit())));
    const Board board = test::BoardMaker<Random>(random, nodes, nodes).make().board;
    const Capsule& capsule = board.models.capsules.at("source");
    const double rotation = 0;
    if (has_errors(check_assembly(board, &capsule, {&rotation, 1}))) {
        ++tally.by_topology;
        return;
    }
    Network network(build_circuit(board, rotation, &capsule));
    const std::array list_hz{f_hz / 3, f_hz, 2 * f_hz};
    std::optional<Complex> gain;
    try {
        gain = network.respond_all(list_hz)[1].gain;
    } catch (const Error& error) {
        if (error.kind() != Error::Kind::no_unique_solution) throw;
    }
    tally.fell_back += network.account().fallbacks > 0;
    if (gain && seed % exact_every != 0) {
        const auto near = gain_in<std::complex<long double>>(network, f_hz, 0.05);
        if (near && error_of(*gain, *near) <= agreed) {
            return tally.note_error(error_of(*gain, *near), seed);
        }
    }
    ++tally.in_fifty_digits;
    const auto exact = gain_in<test::Wide>(network, f_hz, 1e-6);
    if (!gain) {
        ++(exact ? tally.wrongly_refused : tally.rightly_refused);
    } else if (!exact) {
        ++tally.singular;
    } else {
        tally.note_error(error_of(*gain, *exact), seed);
    }
}

Tally try_all(std::uint64_t count, std::uint64_t first) {
    const std::uint64_t workers = std::max(1U, std::thread::hardware_concurrency());
    std::vector<Tally> tallies(workers);
    std::vector<std::jthread> threads;
    for (std::uint64_t worker = 0; worker < workers; ++worker) {
        threads.emplace_back([=, &tallies] {
            for (std::uint64_t k = worker; k < count; k += workers) {
                try_one(first + k, tallies[worker]);
            }
        });
    }
    threads.clear();
    Tally whole;
    for (const Tally& tally : tallies) whole.add(tally);
    return whole;
}

void print(const Tally& t) {
    fmt::print("{} circuits\n", t.circuits);
    fmt::print("{:>10}  refused for their topology\n", t.by_topology);
    fmt::print("{:>10}  refused by the solver, singular in fifty digits too\n", t.rightly_refused);
    fmt::print("{:>10}  refused by the solver, though they have a solution\n", t.wrongly_refused);
    fmt::print("{:>10}  solved\n", t.solved);
    fmt::print("{:>10}  solved, though singular in fifty digits\n", t.singular);
    fmt::print("{:>10}  of all fell back on the reference path\n", t.fell_back);
    fmt::print("{:>10}  of all were held against fifty digits\n", t.in_fifty_digits);
    fmt::print("errors of the gain\n");
    for (std::size_t k = 0; k < t.by_decade.size(); ++k) {
        if (t.by_decade[k] > 0) fmt::print("{:>10}  up to 1e-{}\n", t.by_decade[k], k);
    }
    fmt::print("worst {:.1e}, of circuit {}; {} worse than {:.0e}\n", t.worst, t.worst_seed, t.off,
               most_error);
}

std::optional<std::uint64_t> whole_number(std::string_view text) {
    std::uint64_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return value;
}

int run(const std::vector<std::string_view>& words) {
    const auto count = words.empty() ? std::nullopt : whole_number(words[0]);
    const auto first = words.size() < 2 ? std::optional<std::uint64_t>(1) : whole_number(words[1]);
    if (!count || !first || words.size() > 2) {
        fmt::print(stderr, "lowhiss_numbers COUNT [FIRST]: two whole numbers\n");
        return 2;
    }
    const Tally tally = try_all(*count, *first);
    print(tally);
    return tally.off + tally.singular > 0 || tally.solved == 0 ? 1 : 0;
}

}  // namespace
}  // namespace lowhiss

int main(int argc, char** argv) {
    return lowhiss::run({argv + 1, argv + argc});
}
