// Natural frequencies that grow and those that do not: real roots, floating subcircuits, double
// roots.

#include <fmt/format.h>

#include <Eigen/LU>
#include <numbers>
#include <random>

#include "lowhiss/analysis/poles.hpp"
#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::growth_test {

using test::pi;

const std::string model = "[opamp.amp]\nopen_loop_gain = \"120 dB\"\ngain_bandwidth = \"10 MHz\"\n";

Stability stability_of(const test::Stage& stage) {
    const Board board = test::board_of(stage);
    return Setting(board, test::capsule_of(board), 0).stability();
}

test::Stage latch(const char* back_ohm) {
    return {.parts = fmt::format(R"(
R1 = {{ resistor = "1k", pins = ["in", "p"] }}
R2 = {{ resistor = "{}", pins = ["p", "out"] }}
R3 = {{ resistor = "3k", pins = ["n", "gnd"] }}
R4 = {{ resistor = "7k", pins = ["n", "out"] }}
U1 = {{ opamp = "amp", plus = "p", minus = "n", out = "out" }}
)",
                                 back_ohm),
            .tables = model};
}

TEST_CASE("more positive than negative feedback latches up", "[stability]") {
    // s t1 + 1/A0 = 1/2 - 3/10: one real s. Half of the output is fed back to the plus input, three
    // tenths to the minus input.
    const Stability stability = stability_of(latch("1k"));
    const double s = 2 * pi * 10e6 * (0.5 - 0.3 - 1e-6);
    CHECK_FALSE(stability.stable);
    CHECK(stability.latches);
    CHECK_THAT(stability.latch_time_s, WithinRel(1 / s, 1e-10));
    REQUIRE(stability.sharpest());
    CHECK(stability.sharpest()->q == -0.5);  // |s| / (-2 s)
    CHECK(instability_text(stability) == "latches up with a time constant of 79.58 ns");
    const Board board = test::board_of(latch("1k"));
    Setting setting(board, nullptr, 0);
    CHECK(find_measure("mode_q")->at_setting(setting, {}).value == -0.5);
    CHECK(stability_of(latch("10k")).stable);  // 1/11 is fed back
}

TEST_CASE("two equal circuits that oscillate are told", "[stability]") {
    // Wien bridges of gain 3.1: s^2 + s w0 (3 - K) + w0^2 = 0, each root twice.
    std::string parts = "R0 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n";
    for (const char* k : {"1", "2"}) {
        parts += fmt::format(R"(
R{0}1 = {{ resistor = "10k", pins = ["o{0}", "x{0}"] }}
C{0}1 = {{ capacitor = "10n", pins = ["x{0}", "w{0}"] }}
R{0}2 = {{ resistor = "10k", pins = ["w{0}", "gnd"] }}
C{0}2 = {{ capacitor = "10n", pins = ["w{0}", "gnd"] }}
E{0} = {{ voltage_gain = 3.1, control = ["w{0}", "gnd"], pins = ["o{0}", "gnd"] }}
)",
                             k);
    }
    const Stability stability = stability_of({.parts = parts, .tap = "o1"});
    CHECK_FALSE(stability.stable);
    CHECK_THAT(stability.grows_hz, WithinRel(1591.5494309189535, 1e-6));
}

TEST_CASE("a growing root that is double and has one vector is told", "[stability]") {
    // Two integrators with growth of 1e6 / s in a chain: (s - w)^2 = 0. The first-order error of
    // such a root has no bound; the turns of the determinant count it.
    const test::Stage stage{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "a"] }
C1 = { capacitor = "1n", pins = ["a", "gnd"] }
G1 = { transconductance = -2e-3, control = ["a", "gnd"], pins = ["a", "gnd"] }
G2 = { transconductance = 1e-3, control = ["a", "gnd"], pins = ["out", "gnd"] }
C2 = { capacitor = "1n", pins = ["out", "gnd"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
G3 = { transconductance = -2e-3, control = ["out", "gnd"], pins = ["out", "gnd"] }
)"};
    const Stability stability = stability_of(stage);
    CHECK_FALSE(stability.stable);
    CHECK(stability.latches);
}

/// The number of zeros of det(G + s C) right of Re s = 1e-3, by the argument principle in extended
/// precision: along that line from the real axis upwards every zero on its left turns the
/// determinant by a quarter turn, every zero on its right by a quarter turn back, and the number of
/// both is the slope of ln |det| over ln omega at the end.
class RootCount {
  public:
    explicit RootCount(const Pencil& pencil) : size_(pencil.size) {
        g_ = Matrix::Zero(size_, size_);
        c_ = Matrix::Zero(size_, size_);
        for (int column = 0; column < size_; ++column) {
            const auto at = static_cast<std::size_t>(column);
            for (int k = pencil.column_start[at]; k < pencil.column_start[at + 1]; ++k) {
                const auto slot = static_cast<std::size_t>(k);
                g_(pencil.row[slot], column) = pencil.g[slot];
                c_(pencil.row[slot], column) = pencil.c[slot];
            }
        }
    }

    int on_the_right() const {
        constexpr long double lowest = 1e-4L;
        constexpr long double highest = 1e14L;
        // Two sharp resonances within a step could hide each other.
        constexpr long double ratio = 1.2L;
        const Value first = ln_det(0);
        long double turned = step(0, first, lowest, ln_det(lowest), 0);
        Value last = ln_det(lowest);
        for (long double omega = lowest; omega < highest; omega *= ratio) {
            const Value next = ln_det(omega * ratio);
            turned += step(omega, last, omega * ratio, next, 0);
            last = next;
        }
        const Value beyond = ln_det(highest * 1e3L);
        const long double degree = (beyond.real() - ln_det(highest).real()) / std::log(1e3L);
        return static_cast<int>(
            std::lround((std::round(degree) - std::round(turned / (pi / 2))) / 2));
    }

  private:
    using Value = std::complex<long double>;
    using Matrix = Eigen::Matrix<Value, Eigen::Dynamic, Eigen::Dynamic>;

    Value ln_det(long double omega) const {
        const Matrix a = g_ + Value(1e-3L, omega) * c_;
        // Rows scaled, so that no pivot is lost; the factors are put back.
        Matrix scaled = a;
        Value sum = 0;
        for (Eigen::Index k = 0; k < a.rows(); ++k) {
            const long double most = a.row(k).cwiseAbs().maxCoeff();
            scaled.row(k) /= most;
            sum += std::log(most);
        }
        const Eigen::PartialPivLU<Matrix> lu(scaled);
        for (const Value& pivot : lu.matrixLU().diagonal()) sum += std::log(pivot);
        if (lu.permutationP().determinant() < 0) sum += Value(0, std::numbers::pi_v<long double>);
        return sum;
    }

    /// The change of the angle, found by halving the step until the change is small.
    long double step(long double low, Value at_low, long double high, Value at_high,
                     int depth) const {
        const long double turn =
            std::remainder((at_high - at_low).imag(), 2 * std::numbers::pi_v<long double>);
        if (depth > 60) return turn;
        const long double middle = low > 0 ? std::sqrt(low * high) : high / 2;
        const Value at_middle = ln_det(middle);
        const long double half =
            std::remainder((at_middle - at_low).imag(), 2 * std::numbers::pi_v<long double>);
        if (std::abs(turn) < 1 && std::abs(half) < 1 && std::abs(turn - half) < 1) return turn;
        return step(low, at_low, middle, at_middle, depth + 1) +
               step(middle, at_middle, high, at_high, depth + 1);
    }

    int size_;
    Matrix g_;
    Matrix c_;
};

TEST_CASE("the count of roots knows a Wien bridge", "[stability]") {
    for (const double gain : {2.9, 3.1}) {
        const test::Stage stage{.parts = fmt::format(R"(
R9 = {{ resistor = "1M", pins = ["in", "w"] }}
R1 = {{ resistor = "10k", pins = ["out", "x"] }}
C1 = {{ capacitor = "10n", pins = ["x", "w"] }}
R2 = {{ resistor = "10k", pins = ["w", "gnd"] }}
C2 = {{ capacitor = "10n", pins = ["w", "gnd"] }}
E1 = {{ voltage_gain = {}, control = ["w", "gnd"], pins = ["out", "gnd"] }}
)",
                                                     gain)};
        CHECK(RootCount(test::network_of(stage).pencil()).on_the_right() == (gain > 3 ? 2 : 0));
    }
}

TEST_CASE("of two subcircuits that float as many roots grow as the determinant counts",
          "[stability]") {
    // Only capacitors lead to these nodes: nothing sets their direct voltage, and each has a
    // natural frequency at zero, which does not grow.
    int stable = 0;
    int unstable = 0;
    for (unsigned seed = 1; seed <= 100; ++seed) {
        std::mt19937 draw(seed);
        const auto decades = [&](double low, double high) {
            return std::pow(10, low + (high - low) * (static_cast<double>(draw()) / 4294967296.0));
        };
        const auto pick = [&](const std::vector<std::string>& list) {
            return list[draw() % list.size()];
        };
        std::string parts = fmt::format(R"(
R1 = {{ resistor = {:.6g}, pins = ["in", "out"] }}
R2 = {{ resistor = {:.6g}, pins = ["out", "gnd"] }}
R3 = {{ resistor = {:.6g}, pins = ["m", "gnd"] }}
U1 = {{ opamp = "amp", plus = "out", minus = "m", out = "m" }}
)",
                                        decades(1, 5), decades(1, 5), decades(1, 5));
        std::vector<std::string> outside{"out", "m", "gnd"};
        int k = 0;
        const auto part = [&](const std::string& kind, double value, const std::string& a,
                              const std::string& b) {
            parts += fmt::format("{}{} = {{ {} = {:.6g}, pins = [\"{}\", \"{}\"] }}\n",
                                 kind == "inductor"   ? "L"
                                 : kind == "resistor" ? "R1"
                                                      : "C",
                                 ++k, kind, value, a, b);
        };
        for (const char* group : {"f", "g"}) {
            std::vector<std::string> nodes{std::string(group) + "0"};
            for (const auto n = 1 + draw() % 4; nodes.size() <= n;) {
                const std::string to = pick(nodes);
                nodes.push_back(group + std::to_string(nodes.size()));
                const bool coil = draw() % 3 == 0;
                part(coil ? "inductor" : "resistor", coil ? decades(-6, 0) : decades(0, 7),
                     nodes.back(), to);
            }
            for (auto n = 1 + draw() % 3; n > 0; --n) {
                part("capacitor", decades(-13, -5), pick(nodes), pick(outside));
            }
            if (draw() % 2 == 0) {
                parts += fmt::format(
                    "U{0} = {{ opamp = \"amp\", plus = \"{1}\", minus = \"q{0}\", out = \"q{0}\" "
                    "}}\n",
                    10 + k, pick(nodes));
            }
            outside.insert(outside.end(), nodes.begin(), nodes.end());
        }
        const test::Stage stage{.parts = parts,
                                .tables = model +
                                          "input_capacitance = \"8p\"\ncommon_mode_capacitance = "
                                          "\"3p\"\noutput_resistance = \"60R\"\n"};
        CAPTURE(seed, parts);
        const Network network = test::network_of(stage);
        const Poles poles = poles_of(network.pencil(), *network.plan());
        const int growing = RootCount(network.pencil()).on_the_right();
        CHECK(poles.known);
        // Coils without resistance may grow more slowly than the count sees.
        CHECK(std::count_if(poles.growing.begin(), poles.growing.end(),
                            [](const Complex& s) { return s.real() > 1e-3; }) == growing);
        ++(growing == 0 ? stable : unstable);
    }
    CHECK(stable > 50);
    CHECK(unstable > 10);
}

}  // namespace lowhiss::growth_test
