// lowhiss_numbers COUNT [FIRST]: so many random circuits of 5 to 60 nodes, values over twelve
// decades, each solved as a sweep does, its gain held against extended precision: elimination in
// long doubles, and in fifty digits where those do not agree to 1e-10, and for one in a hundred.
// Refusals, and gains that were said to be none, are judged in fifty and in a hundred
// digits, by elimination that shares no code with the engine's. Says what it found; status 1 where
// a gain is off by more than 1e-9 of itself, where a circuit that has a solution was refused, or
// where a gain was said to be none that is one.

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <limits>
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
constexpr std::uint64_t exact_every = 100;
constexpr int decades = 18;

using Hundred = boost::multiprecision::cpp_complex_100;

struct Random {
    std::mt19937_64 numbers;
    int whole(int from, int to) { return std::uniform_int_distribution<int>(from, to)(numbers); }
    double unit() { return std::uniform_real_distribution<double>(0, 1)(numbers); }
};

struct Tally {
    std::uint64_t circuits = 0;
    std::uint64_t by_topology = 0;   ///< refused before any number was computed
    std::uint64_t singular = 0;      ///< refused, and singular in fifty digits
    std::uint64_t undetermined = 0;  ///< refused, and rounding of the values decides the solution
    std::uint64_t refused_in_vain = 0;   ///< refused, though it has a solution
    std::uint64_t without_signal = 0;    ///< rightly said to have no gain
    std::uint64_t silenced_in_vain = 0;  ///< said to have no gain, though it has one
    std::uint64_t not_refused = 0;       ///< solved, but singular in fifty digits
    std::uint64_t fell_back = 0;         ///< circuits that the reference path had to solve
    std::uint64_t extended = 0;          ///< of these, those that needed extended precision
    std::uint64_t in_fifty_digits = 0;
    std::uint64_t solved = 0;
    std::uint64_t off = 0;
    double worst = 0;
    std::uint64_t worst_seed = 0;
    std::array<std::uint64_t, decades> by_decade{};  ///< of errors: from 1e-1 down
    std::vector<std::uint64_t> in_vain;              ///< seeds to look at

    void note_error(double error, std::uint64_t seed) {
        ++solved;
        if (!(error <= most_error)) {
            ++off;
            in_vain.push_back(seed);
        }
        const double decade = error > 0 ? std::floor(-std::log10(error)) : decades;
        ++by_decade[static_cast<std::size_t>(std::clamp(decade, 0.0, decades - 1.0))];
        if (error <= worst) return;
        worst = error;
        worst_seed = seed;
    }

    void add(const Tally& other) {
        for (const auto count :
             {&Tally::circuits, &Tally::by_topology, &Tally::singular, &Tally::undetermined,
              &Tally::refused_in_vain, &Tally::without_signal, &Tally::silenced_in_vain,
              &Tally::not_refused, &Tally::fell_back, &Tally::extended, &Tally::in_fifty_digits,
              &Tally::solved, &Tally::off}) {
            this->*count += other.*count;
        }
        for (std::size_t k = 0; k < by_decade.size(); ++k) by_decade[k] += other.by_decade[k];
        in_vain.insert(in_vain.end(), other.in_vain.begin(), other.in_vain.end());
        if (other.worst <= worst) return;
        worst = other.worst;
        worst_seed = other.worst_seed;
    }

    bool is_good() const {
        return solved > 0 && off + not_refused + refused_in_vain + silenced_in_vain == 0;
    }
};

/// One entry of the inverse: the value of one unknown with 1 in one equation.
struct Question {
    int equation;
    int unknown;
};

Question gain_of(const Network& network) {
    return {network.circuit().emf_current, network.circuit().output_plus - 1};
}

/// That entry for the equations as stamped, each stamp times a factor; none if they are singular.
template <class Number, class FactorOf>
std::optional<Number> answer_in(const Network& network, const Question& question, double f_hz,
                                double least_pivot, FactorOf factor_of) {
    std::vector<Number> b(static_cast<std::size_t>(network.pencil().size));
    b[static_cast<std::size_t>(question.equation)] = Number(1);
    try {
        const auto x = test::SparseElimination<Number>(
                           test::matrix_of<Number>(network.pencil(), f_hz, factor_of), std::move(b),
                           least_pivot)
                           .solve();
        return x[static_cast<std::size_t>(question.unknown)];
    } catch (const std::domain_error&) {
        return std::nullopt;
    }
}

template <class Number>
std::optional<Number> answer_in(const Network& network, const Question& question, double f_hz,
                                double least_pivot) {
    return answer_in<Number>(network, question, f_hz, least_pivot,
                             [](const Triplet&) { return 1; });
}

template <class Number>
std::optional<Number> gain_in(const Network& network, double f_hz, double least_pivot) {
    return answer_in<Number>(network, gain_of(network), f_hz, least_pivot);
}

template <class Number>
double error_of(Complex gain, const Number& exact) {
    const Number difference = exact - Number(gain.real(), gain.imag());
    return test::size_of(difference) / std::abs(gain);
}

/// The answer in fifty digits; none if a hundred digits give another, which is what singular means.
std::optional<test::Wide> exact_answer(const Network& network, const Question& question,
                                       double f_hz) {
    const auto fifty = answer_in<test::Wide>(network, question, f_hz, 1e-6);
    const auto hundred = answer_in<Hundred>(network, question, f_hz, 1e-6);
    if (!fifty || !hundred) return std::nullopt;
    using Real = Hundred::value_type;
    const Hundred difference = *hundred - Hundred(Real(fifty->real()), Real(fifty->imag()));
    constexpr double nothing = 1e-30;  // the rounding of an answer of exactly zero in fifty digits
    if (test::size_of(difference) > 1e-12 * test::size_of(*hundred) + nothing) return std::nullopt;
    return fifty;
}

/// The largest movement of the answer, in some trials, when every value of a part is changed by
/// four units in its last place, up or down at random.
double movement_by_values(const Network& network, const Question& question, double f_hz,
                          const test::Wide& exact, std::uint64_t seed) {
    constexpr int trials = 6;
    constexpr double part = 4 * std::numeric_limits<double>::epsilon();
    std::mt19937_64 signs(seed);
    double most = 0;
    for (int trial = 0; trial < trials; ++trial) {
        std::vector<double> of_tie;
        const auto factor = [&](const Triplet& t) {
            const auto draw = [&] { return (signs() & 1U) != 0 ? part : -part; };
            const auto tie = static_cast<std::size_t>(t.tie);
            if (tie > 0) {
                if (tie >= of_tie.size()) of_tie.resize(tie + 1);
                if (of_tie[tie] == 0) of_tie[tie] = draw();
                return 1 + of_tie[tie];
            }
            return t.c == 0 && std::abs(t.g) == 1 ? 1 : 1 + draw();
        };
        const auto moved = answer_in<test::Wide>(network, question, f_hz, 1e-6, factor);
        if (!moved) return std::numeric_limits<double>::infinity();
        const test::Wide difference = *moved - exact;
        most = std::max(most, test::size_of(difference));
    }
    return most;
}

/// Whether the rounding of the values decides an answer, to a hundredth.
bool undetermined(const Network& network, const Question& question, double f_hz,
                  std::uint64_t seed) {
    const auto exact = exact_answer(network, question, f_hz);
    return !exact ||
           movement_by_values(network, question, f_hz, *exact, seed) > 0.01 * test::size_of(*exact);
}

/// A gain of exactly zero says nothing about the parts of a circuit that only noise reaches, so
/// that the diagonal of the inverse is computed for every unknown.
bool any_undetermined(const Network& network, double f_hz, std::uint64_t seed) {
    for (int k = 0; k < network.pencil().size; ++k) {
        if (undetermined(network, {k, k}, f_hz, seed)) return true;
    }
    return false;
}

void judge_refusal(const Network& network, double f_hz, std::uint64_t seed, Tally& tally) {
    if (!exact_answer(network, gain_of(network), f_hz)) {
        ++tally.singular;
    } else if (undetermined(network, gain_of(network), f_hz, seed) ||
               any_undetermined(network, f_hz, seed)) {
        ++tally.undetermined;
    } else {
        ++tally.refused_in_vain;
        tally.in_vain.push_back(seed);
    }
}

void judge_silence(const Network& network, double f_hz, std::uint64_t seed, Tally& tally) {
    const auto exact = exact_answer(network, gain_of(network), f_hz);
    if (!exact) {
        ++tally.not_refused;
        return;
    }
    // The bound adds up all values at their worst; signs at random give a tenth of it and more.
    constexpr double of_bound = 10;
    const double size = test::size_of(*exact);
    constexpr double nothing = 1e-40;
    if (size <= nothing ||
        size <= of_bound * movement_by_values(network, gain_of(network), f_hz, *exact, seed)) {
        ++tally.without_signal;
    } else {
        ++tally.silenced_in_vain;
        tally.in_vain.push_back(seed);
    }
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
    tally.extended += network.account().extended > 0;
    if (gain && *gain != 0.0 && seed % exact_every != 0) {
        const auto near = gain_in<std::complex<long double>>(network, f_hz, 0.05);
        if (near && error_of(*gain, *near) <= agreed) {
            return tally.note_error(error_of(*gain, *near), seed);
        }
    }
    ++tally.in_fifty_digits;
    if (!gain) return judge_refusal(network, f_hz, seed, tally);
    if (*gain == 0.0) return judge_silence(network, f_hz, seed, tally);
    const auto exact = gain_in<test::Wide>(network, f_hz, 1e-6);
    if (!exact) {
        ++tally.not_refused;
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
    const auto line = [](std::uint64_t count, std::string_view what) {
        fmt::print("{:>10}  {}\n", count, what);
    };
    line(t.by_topology, "refused for their topology");
    line(t.singular, "refused by the solver, singular in fifty digits too");
    line(t.undetermined,
         "refused by the solver, the rounding of their values decides the solution");
    line(t.refused_in_vain, "refused by the solver, though they have a solution");
    line(t.without_signal, "without a signal at the output, as the solver says");
    line(t.silenced_in_vain, "without one as the solver says, though there is one");
    line(t.solved, "solved");
    line(t.not_refused, "solved, though singular in fifty digits");
    line(t.fell_back, "of all fell back on the pivoting path");
    line(t.extended, "of all needed extended precision");
    line(t.in_fifty_digits, "of all were held against fifty digits");
    fmt::print("errors of the gain\n");
    for (std::size_t k = 0; k < t.by_decade.size(); ++k) {
        if (t.by_decade[k] > 0) fmt::print("{:>10}  up to 1e-{}\n", t.by_decade[k], k);
    }
    fmt::print("worst {:.1e}, of circuit {}; {} worse than {:.0e}\n", t.worst, t.worst_seed, t.off,
               most_error);
    for (std::size_t k = 0; k < std::min<std::size_t>(10, t.in_vain.size()); ++k) {
        fmt::print("look at circuit {}\n", t.in_vain[k]);
    }
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
    return tally.is_good() ? 0 : 1;
}

}  // namespace
}  // namespace lowhiss

int main(int argc, char** argv) {
    return lowhiss::run({argv + 1, argv + argc});
}
