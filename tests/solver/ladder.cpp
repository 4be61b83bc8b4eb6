// An RC ladder on each path of the solver, against its recurrence from the far end.

#include <fmt/format.h>

#include <complex>

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::ladder_test {

constexpr double ohm = 1000;
constexpr double farad = 1e-9;

Network ladder(int sections) {
    std::string parts;
    for (int k = 0; k < sections; ++k) {
        const std::string in = k == 0 ? "in" : fmt::format("n{}", k);
        const std::string out = k + 1 == sections ? "out" : fmt::format("n{}", k + 1);
        parts += fmt::format(
            "R{0} = {{ resistor = \"1k\", pins = [\"{1}\", \"{2}\"] }}\n"
            "C{0} = {{ capacitor = \"1n\", pins = [\"{2}\", \"gnd\"] }}\n",
            k, in, out);
    }
    return test::network_of({.parts = parts});
}

/// Voltages and currents for 1 V at the far end only grow on the way back: nothing cancels.
Complex expected(int sections, double f_hz) {
    using Long = std::complex<long double>;
    const Long siemens(0, 2 * std::numbers::pi_v<long double> * f_hz * farad);
    Long volt = 1;
    Long ampere = 0;
    for (int k = 0; k < sections; ++k) {
        ampere += siemens * volt;
        volt += static_cast<long double>(ohm) * ampere;
    }
    const Long gain = 1.0L / volt;
    return {static_cast<double>(gain.real()), static_cast<double>(gain.imag())};
}

std::vector<Complex> drive_of(const Network& network) {
    std::vector<Complex> b(static_cast<std::size_t>(network.pencil().size));
    b[static_cast<std::size_t>(network.circuit().emf_current)] = 1;
    return b;
}

// Condition numbers of a ladder grow with its length and no faster.
constexpr double tolerance(int sections) {
    return sections * 1e-13;
}

// Down to -250 dB at 1 kHz in the long one.
constexpr double frequencies[] = {0.1, 1.0, 10.0, 100.0, 1000.0};

TEST_CASE("ladders of 5, 60 and 500 sections on the planned path") {
    for (const int sections : {5, 60, 500}) {
        Network network = ladder(sections);
        CHECK(network.plan()->program.has_value());
        for (const double f_hz : frequencies) {
            CAPTURE(sections, f_hz);
            CHECK_THAT(network.respond(f_hz).gain,
                       test::CloseTo(expected(sections, f_hz), tolerance(sections)));
        }
        CHECK(network.account().fallbacks == 0);
    }
}

TEST_CASE("the reference path, dense and sparse, solves the same ladders") {
    for (const int sections : {60, 500}) {
        const Network network = ladder(sections);
        const auto out = static_cast<std::size_t>(network.circuit().output_plus) - 1;
        ReferenceSolver reference(network.pencil());
        for (const double f_hz : frequencies) {
            CAPTURE(sections, f_hz);
            reference.factorise(f_hz);
            CHECK_THAT(reference.solve(drive_of(network))[out],
                       test::CloseTo(expected(sections, f_hz), tolerance(sections)));
            // The adjoint, driven at the output, gives the same at the source.
            std::vector<Complex> c(drive_of(network).size());
            c[out] = 1;
            const auto y = reference.solve_transposed(c);
            CHECK_THAT(y[static_cast<std::size_t>(network.circuit().emf_current)],
                       test::CloseTo(expected(sections, f_hz), tolerance(sections)));
        }
        CHECK(reference.account().worst_backward_error <= largest_backward_error);
    }
}

}  // namespace lowhiss::ladder_test
