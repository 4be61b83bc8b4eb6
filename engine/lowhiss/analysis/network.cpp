#include "lowhiss/analysis/network.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/analysis/natural_frequencies.hpp"
#include "lowhiss/circuit/owners.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/topology/netlist.hpp"

namespace lowhiss {
namespace {

void put_at_node(std::vector<Complex>& vector, int node, double value) {
    if (node > 0) vector[static_cast<std::size_t>(node) - 1] += value;
}

}  // namespace

Complex node_voltage(std::span<const Complex> unknowns, int node) {
    return node > 0 ? unknowns[static_cast<std::size_t>(node) - 1] : Complex{};
}

Complex transfer_of(const Injection& injection, std::span<const Complex> y) {
    Complex sum = 0;
    for (const auto& [equation, weight] : injection.terms) {
        if (equation >= 0) sum += weight * y[static_cast<std::size_t>(equation)];
    }
    return sum;
}

double density_at(const NoiseSource& source, const Circuit& circuit, double frequency_hz) {
    if (source.measured_element < 0) return source.white * (1 + source.corner_hz / frequency_hz);
    const auto& element = circuit.elements[static_cast<std::size_t>(source.measured_element)];
    const auto& points = std::get<MeasuredBranch>(element.law).points;
    return 4 * boltzmann_j_k * circuit.temperature_k * interpolate(points, frequency_hz).ohm.real();
}

Network::Network(Circuit circuit)
    : circuit_(std::make_unique<const Circuit>(std::move(circuit))),
      pencil_(assemble(*circuit_)),
      plan_(std::make_shared<const Plan>(make_plan(pencil_))),
      solver_(plan_, pencil_) {
    set_sides();
}

Network::Network(Circuit circuit, const std::shared_ptr<const Plan>& plan)
    : Network(std::make_unique<const Circuit>(std::move(circuit)), plan) {}

Network::Network(std::unique_ptr<const Circuit> circuit, const std::shared_ptr<const Plan>& plan)
    : circuit_(std::move(circuit)),
      pencil_(assemble(*circuit_)),
      plan_(plan && fits(*plan, pencil_) ? plan : std::make_shared<const Plan>(make_plan(pencil_))),
      solver_(plan_, pencil_) {
    set_sides();
}

void Network::set_sides() {
    drive_.resize(static_cast<std::size_t>(pencil_.size));
    select_.resize(static_cast<std::size_t>(pencil_.size));
    drive_[static_cast<std::size_t>(circuit_->emf_current)] = 1;
    put_at_node(select_, circuit_->output_plus, 1);
    put_at_node(select_, circuit_->output_minus, -1);
}

template <class Solve>
auto Network::reported(Solve solve) const {
    try {
        return solve();
    } catch (const Singular& singular) {
        report_singular(singular.frequency_hz, singular.unknown);
    }
}

std::vector<Response> Network::respond_all(std::span<const double> frequency_hz) {
    for (const double f_hz : frequency_hz) check_range(f_hz);
    std::vector<Response> responses;
    responses.reserve(frequency_hz.size());
    reported([&] {
        solver_.solve_at(frequency_hz, drive_, select_, [&](const SolvedLanes& solved) {
            for (std::size_t lane = 0; lane < solved.count; ++lane) {
                const double f_hz = frequency_hz[solved.first + lane];
                responses.push_back(response_of(f_hz, solved, lane));
            }
            add_noise(solved, std::span(responses).last(solved.count));
        });
    });
    return responses;
}

Response Network::respond(double frequency_hz) {
    return std::move(respond_all({&frequency_hz, 1}).front());
}

Solution Network::solve(double frequency_hz) {
    check_range(frequency_hz);
    return reported([&] { return solver_.solve_at(frequency_hz, drive_, select_); });
}

std::vector<Complex> Network::respond_to(std::span<const Complex> drive) {
    return reported([&] { return solver_.solve_more(drive); });
}

std::vector<std::vector<Complex>> Network::respond_to(std::span<const Complex> drive,
                                                      std::span<const double> frequency_hz) {
    for (const double f_hz : frequency_hz) check_range(f_hz);
    // Without an output there is no gain whose accuracy could force refinement.
    const std::vector<Complex> no_output(select_.size());
    std::vector<std::vector<Complex>> answers;
    answers.reserve(frequency_hz.size());
    reported([&] {
        solver_.solve_at(frequency_hz, drive, no_output, [&](const SolvedLanes& solved) {
            for (std::size_t lane = 0; lane < solved.count; ++lane) {
                std::vector<Complex>& x = answers.emplace_back(drive.size());
                for (std::size_t k = 0; k < x.size(); ++k) x[k] = solved.x_at(k, lane);
            }
        });
    });
    return answers;
}

std::vector<Complex> Network::adjoint_of(std::span<const Complex> select) {
    return reported([&] { return solver_.solve_more_transposed(select); });
}

std::vector<Complex> Network::respond_to_unit(int equation) {
    std::vector<Complex> unit(drive_.size());
    unit[static_cast<std::size_t>(equation)] = 1;
    return respond_to(unit);
}

const std::vector<Complex>& Network::natural_frequencies_rad_s() {
    if (!natural_frequencies_) natural_frequencies_ = natural_frequencies(pencil_, *plan_);
    return *natural_frequencies_;
}

Response Network::response_of(double frequency_hz, const SolvedLanes& solved,
                              std::size_t lane) const {
    const auto x_at = [&](int node) {
        return node > 0 ? solved.x_at(static_cast<std::size_t>(node) - 1, lane) : Complex{};
    };
    const auto y_at = [&](int node) {
        return node > 0 ? solved.y_at(static_cast<std::size_t>(node) - 1, lane) : Complex{};
    };
    const Circuit& c = *circuit_;
    Response response;
    response.frequency_hz = frequency_hz;
    response.gain = solved.gain_at(lane);
    response.gain_slope_s = -solved.slope_at(lane);
    response.input_voltage = x_at(c.input_plus) - x_at(c.input_minus);
    const Complex current = -solved.x_at(static_cast<std::size_t>(c.emf_current), lane);
    response.input_impedance_ohm = response.input_voltage / current;
    response.output_impedance_ohm = y_at(c.output_plus) - y_at(c.output_minus);
    return response;
}

void Network::add_noise(const SolvedLanes& solved, std::span<Response> responses) const {
    using Row = std::array<double, lanes>;
    for (Response& response : responses) {
        response.noise_v2_hz.resize(circuit_->noise_groups.size());
    }
    for (const NoiseSource& source : circuit_->noise) {
        Row re{};
        Row im{};
        for (const auto& [equation, weight] : source.injection.terms) {
            if (equation < 0) continue;
            const double* const y = solved.y_of(static_cast<std::size_t>(equation));
            for (std::size_t lane = 0; lane < lanes; ++lane) {
                re[lane] += weight * y[lane];
                im[lane] += weight * y[lanes + lane];
            }
        }
        for (std::size_t lane = 0; lane < responses.size(); ++lane) {
            Response& response = responses[lane];
            response.noise_v2_hz[static_cast<std::size_t>(source.group)] +=
                (re[lane] * re[lane] + im[lane] * im[lane]) *
                density_at(source, *circuit_, response.frequency_hz);
        }
    }
}

void Network::check_range(double frequency_hz) const {
    if (frequency_hz >= circuit_->lowest_hz && frequency_hz <= circuit_->highest_hz) return;
    Diagnostic d;
    d.code = "outside-measurement";
    point_at(*circuit_, capsule_index(*circuit_), d);
    d.found = fmt::format("the capsule's impedance was not measured at {}",
                          print_quantity(frequency_hz, Unit::hertz, 4));
    d.accepted = fmt::format("{} to {}, the range of the measurement",
                             print_quantity(circuit_->lowest_hz, Unit::hertz, 4),
                             print_quantity(circuit_->highest_hz, Unit::hertz, 4));
    d.advice = "measure a wider range, or set extrapolate = true in the capsule's table";
    throw Error(Error::Kind::unusable_input, {d});
}

void Network::report_singular(double frequency_hz, int unknown) const {
    Diagnostic d;
    d.code = "no-unique-solution";
    point_at(*circuit_, unknown < 0 ? -1 : owner_of(*circuit_, unknown), d);
    const std::string at = print_quantity(frequency_hz, Unit::hertz, 4);
    d.found = unknown < 0 ? fmt::format("the equations cannot be solved reliably at {}", at)
                          : fmt::format("the equations at {} do not determine {}", at,
                                        text_of_unknown(*circuit_, unknown));
    d.advice =
        "look for a node that nothing drives, or for a loop with a gain of exactly 1; 'lowhiss "
        "inspect' lists suspicious connections";
    throw Error(Error::Kind::no_unique_solution, {d});
}

}  // namespace lowhiss
