// The weighting network of Recommendation ITU-R BS.468-4 (1986), figure 1a, built as a board.

#include "lowhiss/analysis/weighting.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::bs468_board_test {

using test::Z;

test::Stage network_468(const std::string& last_capacitor = "31.47n") {
    return {.parts = R"(
C1 = { capacitor = "13.85n", pins = ["in", "gnd"] }
L1 = { inductor = "12.88m", pins = ["in", "a"] }
C2 = { capacitor = "26.82n", pins = ["a", "gnd"] }
C3 = { capacitor = "33.06n", pins = ["a", "b"] }
C4 = { capacitor = "9.21n", pins = ["b", "gnd"] }
L2 = { inductor = "26.49m", pins = ["b", "out"] }
C5 = { capacitor = ")" +
                     last_capacitor +
                     R"(", pins = ["out", "gnd"] }
)",
            .capsule = "kind = \"resistive\"\nresistance = \"600R\"\n",
            .output = R"(load = "600R")"};
}

// Table 1 of the Recommendation, relative to 1 kHz; and V_out / EMF of the network as an
// independent script computed it.
struct Row {
    double f_hz, table_db, absolute_db;
};
constexpr Row table[] = {
    {31.5, -29.9, -48.1213},  {63, -23.9, -42.1011},    {100, -19.8, -38.0889},
    {200, -13.8, -32.0730},   {400, -7.8, -26.0712},    {800, -1.9, -20.1238},
    {1000, 0, -18.2387},      {2000, 5.6, -12.6095},    {3150, 9.0, -9.2633},
    {4000, 10.5, -7.7021},    {5000, 11.7, -6.5316},    {6300, 12.2, -6.0219},
    {7100, 12.0, -6.2336},    {8000, 11.4, -6.8703},    {9000, 10.1, -8.1003},
    {10000, 8.1, -10.1036},   {12500, 0.0, -18.2539},   {14000, -5.3, -23.5547},
    {16000, -11.7, -29.9381}, {20000, -22.2, -40.4155}, {31500, -42.7, -60.9487},
};

double worst_miss_db(const test::Stage& stage) {
    Network network = test::network_of(stage);
    const double reference = std::abs(network.respond(1000).gain);
    double worst = 0;
    for (const Row& row : table) {
        const double db = db_from_ratio(std::abs(network.respond(row.f_hz).gain) / reference);
        worst = std::max(worst, std::abs(db - row.table_db));
    }
    return worst;
}

TEST_CASE("the board of BS.468-4 meets its table, and the misprinted one does not") {
    CHECK(worst_miss_db(network_468()) < 0.06);
    // IEC 60268-1:1985, figure A1, prints the last capacitor as 41.47 nF.
    CHECK(worst_miss_db(network_468("41.47n")) > 2.2);
}

TEST_CASE("the board of BS.468-4 against its network in absolute decibels") {
    Network network = test::network_of(network_468());
    for (const Row& row : table) {
        CAPTURE(row.f_hz);
        // Printed to four decimals.
        CHECK_THAT(db_from_ratio(std::abs(network.respond(row.f_hz).gain)),
                   WithinAbs(row.absolute_db, 5e-5));
    }
}

TEST_CASE("the board of BS.468-4 has the poles that are published for it, phase included") {
    // One zero at 0 and six poles, rad/s; from a public implementation of the weighting, which
    // gives them to 16 digits.
    const Z poles[] = {{-25903.70104781628, 0},
                       {-23615.53521363528, 36379.90893732929},
                       {-23615.53521363528, -36379.90893732929},
                       {-18743.74669072136, 62460.15645250649},
                       {-18743.74669072136, -62460.15645250649},
                       {-62675.1700584679, 0}};
    const auto transfer = [&](double f_hz) {
        Z h = test::s_at(f_hz);
        for (const Z& pole : poles) h /= test::s_at(f_hz) - pole;
        return h;
    };
    Network network = test::network_of(network_468());
    const Z reference = network.respond(1000).gain / transfer(1000);
    for (const Row& row : table) {
        CAPTURE(row.f_hz);
        CHECK_THAT(network.respond(row.f_hz).gain,
                   test::CloseTo(reference * transfer(row.f_hz), 1e-12));
    }
}

TEST_CASE("the weighting that noise is measured with is this board's") {
    Network network = test::network_of(network_468());
    const double reference = std::abs(network.respond(1000).gain);
    for (const double f_hz : {10.0, 315.0, 6300.0, 17e3, 60e3}) {
        CAPTURE(f_hz);
        CHECK_THAT(std::abs(network.respond(f_hz).gain),
                   WithinRel(reference * itu_r_468_weighting(f_hz), 1e-12));
    }
}

}  // namespace lowhiss::bs468_board_test
