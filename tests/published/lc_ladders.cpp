// Doubly terminated LC low-pass prototypes, 1 ohm and 1 rad/s, first element a shunt capacitor.
// 0 dB is the power that the source has to give: |2 V_out / V_source| where the load is 1 ohm.

#include <fmt/format.h>

#include "lowhiss/analysis/phase.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::lc_ladders_test {

using Elements = std::vector<double>;

test::Stage ladder(const Elements& g, double load_ohm = 1, bool capacitor_first = true) {
    std::string parts;
    std::string at = "in";
    bool shunt = capacitor_first;
    for (std::size_t k = 0; k < g.size(); ++k, shunt = !shunt) {
        if (shunt) {
            parts +=
                fmt::format("C{} = {{ capacitor = {}, pins = [\"{}\", \"gnd\"] }}\n", k, g[k], at);
            continue;
        }
        const std::string next = fmt::format("n{}", k);
        parts +=
            fmt::format("L{} = {{ inductor = {}, pins = [\"{}\", \"{}\"] }}\n", k, g[k], at, next);
        at = next;
    }
    return {.parts = parts,
            .capsule = "kind = \"resistive\"\nresistance = 1\n",
            .output = fmt::format("load = {}", load_ohm),
            .tap = at};
}

double hz(double w) {
    return w / (2 * test::pi);
}

double available_db(Network& network, double w, double load_ohm = 1) {
    return db_from_power_ratio(4 * std::norm(network.respond(hz(w)).gain) / load_ohm);
}

Elements butterworth(int n) {
    Elements g;
    for (int k = 1; k <= n; ++k) g.push_back(2 * std::sin((2 * k - 1) * test::pi / (2 * n)));
    return g;
}

// All figures of the tables below that are not element values were computed from those by an
// independent script, and are printed to this.
constexpr double half_a_digit_db = 5e-5;

// Butterworth: g_k = 2 sin((2k - 1) pi / 2n), textbook.
TEST_CASE("Butterworth ladders pass 1 / (1 + w^2n) of the power, either element first") {
    for (const bool capacitor_first : {true, false}) {
        for (int n = 2; n <= 7; ++n) {
            Network network = test::network_of(ladder(butterworth(n), 1, capacitor_first));
            for (const double w : {0.1, 0.5, 0.9, 1.0, 1.3, 2.0, 10.0}) {
                CAPTURE(capacitor_first, n, w);
                const double power = 4 * std::norm(network.respond(hz(w)).gain);
                CHECK_THAT(power, WithinRel(1 / (1 + std::pow(w, 2 * n)), test::close));
            }
        }
    }
}

TEST_CASE("Butterworth ladders at twice their corner") {
    const std::pair<int, double> table[] = {{2, -12.3045}, {3, -18.1291}, {4, -24.0993},
                                            {5, -30.1072}, {6, -36.1247}, {7, -42.1445}};
    for (const auto& [n, db] : table) {
        CAPTURE(n);
        Network network = test::network_of(ladder(butterworth(n)));
        CHECK_THAT(available_db(network, 1), WithinAbs(-3.0103, half_a_digit_db));
        CHECK_THAT(available_db(network, 2), WithinAbs(db, half_a_digit_db));
    }
}

// Element values: Bessel prototype table of the RF Cafe reference pages, after "Analog and Digital
// Filter Design", p. 52.
TEST_CASE("Bessel ladders: -3 dB at w = 1 and a flat delay") {
    struct Row {
        Elements g;
        double half_db, one_db, two_db, delay_s, delay_at_one_s;
    };
    const Row table[] = {
        {{0.5760, 2.1480}, -0.7128, -3.0114, -9.8201, 1.36200, 1.10201},
        {{0.3374, 0.9705, 2.2034}, -0.6892, -3.0103, -12.0001, 1.75565, 1.64138},
        {{0.2334, 0.6725, 1.0815, 2.2404}, -0.7051, -3.0104, -13.4052, 2.11390, 2.07565},
        {{0.1743, 0.5072, 0.8040, 1.1110, 2.2582}, -0.7195, -3.0102, -14.0623, 2.42735, 2.41771},
        {{0.1365, 0.4002, 0.6392, 0.8538, 1.1126, 2.2645},
         -0.7283,
         -3.0102,
         -14.1716,
         2.70340,
         2.70145},
        {{0.1106, 0.3259, 0.5249, 0.7020, 0.8690, 1.1052, 2.2659},
         -0.7333,
         -3.0105,
         -13.9782,
         2.95175,
         2.95142},
    };
    constexpr double half_a_digit_s = 5e-6;
    for (const Row& row : table) {
        CAPTURE(row.g.size());
        Network network = test::network_of(ladder(row.g));
        CHECK_THAT(available_db(network, 0.5), WithinAbs(row.half_db, half_a_digit_db));
        CHECK_THAT(available_db(network, 1), WithinAbs(row.one_db, half_a_digit_db));
        CHECK_THAT(available_db(network, 2), WithinAbs(row.two_db, half_a_digit_db));
        CHECK_THAT(group_delay_s(network.respond(hz(1e-4))),
                   WithinAbs(row.delay_s, half_a_digit_s));
        CHECK_THAT(group_delay_s(network.respond(hz(1))),
                   WithinAbs(row.delay_at_one_s, half_a_digit_s));
        // The four printed digits of the elements limit the accuracy of "-3.0103 dB at w = 1".
        CHECK_THAT(available_db(network, 1), WithinAbs(-3.0103, 0.0015));
    }
}

/// The standard recursion of Chebyshev prototypes, textbook; the last is the load in ohm where the
/// first is a shunt capacitor.
Elements chebyshev(int n, double ripple_db) {
    const double width = std::log(1 / std::tanh(ripple_db * std::numbers::ln10 / 40));
    const double gamma = std::sinh(width / (2 * n));
    const auto a = [&](int k) { return std::sin((2 * k - 1) * test::pi / (2 * n)); };
    const auto b = [&](int k) { return gamma * gamma + std::pow(std::sin(k * test::pi / n), 2); };
    Elements g{2 * a(1) / gamma};
    for (int k = 2; k <= n; ++k) g.push_back(4 * a(k - 1) * a(k) / (b(k - 1) * g.back()));
    g.push_back(n % 2 == 1 ? 1 : std::pow(std::tanh(width / 4), 2));
    return g;
}

/// As printed: the Chebyshev prototype table of the RF Cafe reference pages for orders 3 to 5 of
/// 0.1 dB, the others computed by an independent script. The load stands last.
struct Printed {
    double ripple_db;
    Elements g;
};
const Printed chebyshev_table[] = {
    {0.1, {0.8430, 0.6220, 0.7378}},
    {0.1, {1.0316, 1.1474, 1.0316, 1}},
    {0.1, {1.1088, 1.3062, 1.7704, 0.8181, 0.7378}},
    {0.1, {1.1468, 1.3712, 1.9750, 1.3712, 1.1468, 1}},
    {0.1, {1.1681, 1.4040, 2.0562, 1.5171, 1.9029, 0.8618, 0.7378}},
    {0.1, {1.1812, 1.4228, 2.0967, 1.5734, 2.0967, 1.4228, 1.1812, 1}},
    {0.5, {1.4029, 0.7071, 0.5040}},
    {0.5, {1.6703, 1.1926, 2.3661, 0.8419, 0.5040}},
    {0.5, {1.7254, 1.2479, 2.6064, 1.3137, 2.4758, 0.8696, 0.5040}},
    {0.5, {1.7373, 1.2582, 2.6383, 1.3443, 2.6383, 1.2582, 1.7373, 1}},
};

Network with_load(Elements g, bool capacitor_first = true) {
    const double load_ohm = g.back();
    g.pop_back();
    return test::network_of(ladder(g, load_ohm, capacitor_first));
}

/// Farthest below all the available power that the band from 0 to 1 rad/s gets.
double ripple_db(const Elements& g, bool capacitor_first = true) {
    Network network = with_load(g, capacitor_first);
    double deepest = 0;
    for (int k = 1; k <= 400; ++k) {
        deepest = std::min(deepest, available_db(network, k / 400.0, g.back()));
    }
    return -deepest;
}

TEST_CASE("Chebyshev ladders pass 1 / (1 + (e T_n(w))^2) of the power") {
    for (const Printed& row : chebyshev_table) {
        const int n = static_cast<int>(row.g.size()) - 1;
        const Elements g = chebyshev(n, row.ripple_db);
        for (std::size_t k = 0; k < g.size(); ++k) CHECK_THAT(g[k], WithinAbs(row.g[k], 1e-4));
        Network network = with_load(g);
        const double e2 = power_ratio_from_db(row.ripple_db) - 1;
        for (const double w : {0.03, 0.2, 0.5, 0.77, 0.95, 1.0, 1.1, 2.0, 7.0}) {
            CAPTURE(row.ripple_db, n, w);
            const double t = w <= 1 ? std::cos(n * std::acos(w)) : std::cosh(n * std::acosh(w));
            const double power = 4 * std::norm(network.respond(hz(w)).gain) / g.back();
            CHECK_THAT(power, WithinRel(1 / (1 + e2 * t * t), 100 * test::close));
        }
    }
}

TEST_CASE("Chebyshev ladders with printed elements ripple by as much as they say") {
    for (const Printed& row : chebyshev_table) {
        CAPTURE(row.ripple_db, row.g.size());
        // Half a unit of the fourth decimal in each of up to eight elements.
        CHECK_THAT(ripple_db(row.g), WithinAbs(row.ripple_db, 1e-3));
    }
}

TEST_CASE("Chebyshev ladders of 0.1 dB at twice their ripple band") {
    const std::pair<int, double> table[] = {{3, -12.2391}, {4, -23.4275}, {5, -34.8478}};
    for (const auto& [n, db] : table) {
        const Elements g = chebyshev(n, 0.1);
        Network network = with_load(g);
        CHECK_THAT(available_db(network, 2, g.back()), WithinAbs(db, half_a_digit_db));
    }
}

TEST_CASE("an even Chebyshev ladder with the load of its dual has the wrong ripple") {
    // 1.3554 ohm belongs to a series inductor first; after a shunt capacitor the band is 0.86 dB
    // deep.
    const Elements g{1.1088, 1.3062, 1.7704, 0.8181, 1.3554};
    CHECK_THAT(ripple_db(g), WithinAbs(0.86, 0.005));
    CHECK_THAT(ripple_db(g, false), WithinAbs(0.1, 1e-3));
}

}  // namespace lowhiss::lc_ladders_test
