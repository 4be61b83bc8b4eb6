#include "lowhiss/analysis/network.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

constexpr double boltzmann_j_k = 1.380649e-23;

void put_at_node(std::vector<Complex>& vector, int node, double value) {
    if (node > 0) vector[static_cast<std::size_t>(node) - 1] += value;
}

/// sum over slots of y[row] value x[column]: y^T A x.
Complex bilinear(const Pencil& pencil, std::span<const Complex> values, std::span<const Complex> y,
                 std::span<const Complex> x) {
    Complex sum = 0;
    for (std::size_t column = 0; column < x.size(); ++column) {
        for (int slot = pencil.column_start[column]; slot < pencil.column_start[column + 1];
             ++slot) {
            const auto k = static_cast<std::size_t>(slot);
            if (values[k] == 0.0) continue;
            sum += y[static_cast<std::size_t>(pencil.row[k])] * values[k] * x[column];
        }
    }
    return sum;
}

}  // namespace

Complex node_voltage(std::span<const Complex> unknowns, int node) {
    return node > 0 ? unknowns[static_cast<std::size_t>(node) - 1] : Complex{};
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

Network::Network(Circuit circuit, std::shared_ptr<const Plan> plan)
    : circuit_(std::make_unique<const Circuit>(std::move(circuit))),
      pencil_(assemble(*circuit_)),
      plan_(std::move(plan)),
      solver_(plan_, pencil_) {
    set_sides();
}

void Network::set_sides() {
    drive_.resize(static_cast<std::size_t>(pencil_.size));
    select_.resize(static_cast<std::size_t>(pencil_.size));
    scratch_.resize(static_cast<std::size_t>(pencil_.slots()));
    drive_[static_cast<std::size_t>(circuit_->emf_current)] = 1;
    put_at_node(select_, circuit_->output_plus, 1);
    put_at_node(select_, circuit_->output_minus, -1);
}

Response Network::respond(double frequency_hz) {
    check_range(frequency_hz);
    try {
        solver_.factorise(frequency_hz);
        std::vector<Complex> x = solver_.solve(drive_);
        return response_of(frequency_hz, {std::move(x), solver_.solve_transposed(select_)});
    } catch (const Singular& singular) {
        report_singular(frequency_hz, singular.unknown);
    }
}

std::vector<Response> Network::respond_all(std::span<const double> frequency_hz) {
    for (const double f_hz : frequency_hz) check_range(f_hz);
    std::vector<Response> responses;
    responses.reserve(frequency_hz.size());
    try {
        std::vector<Solution> solutions = solver_.solve_at(frequency_hz, drive_, select_);
        for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
            responses.push_back(response_of(frequency_hz[k], std::move(solutions[k])));
        }
    } catch (const Singular&) {
        // One by one, so that the message names the frequency.
        for (const double f_hz : frequency_hz) responses.push_back(respond(f_hz));
    }
    return responses;
}

Response Network::response_of(double frequency_hz, Solution solution) {
    Response response;
    response.frequency_hz = frequency_hz;
    response.x = std::move(solution.x);
    response.y = std::move(solution.y);
    const auto between = [&](int plus, int minus) {
        return node_voltage(response.x, plus) - node_voltage(response.x, minus);
    };
    response.gain = between(circuit_->output_plus, circuit_->output_minus);
    response.terminal_gain = between(circuit_->input_plus, circuit_->input_minus);
    const Complex current = -response.x[static_cast<std::size_t>(circuit_->emf_current)];
    response.input_impedance_ohm = response.terminal_gain / current;
    check_trust(response);
    evaluate_slope(pencil_, frequency_hz, scratch_);
    response.gain_slope_s = -bilinear(pencil_, scratch_, response.y, response.x);
    return response;
}

std::vector<Complex> Network::respond_to_unit(int equation) {
    std::vector<Complex> unit(drive_.size());
    unit[static_cast<std::size_t>(equation)] = 1;
    return solver_.solve(unit);
}

std::vector<double> Network::noise_by_group(const Response& response) const {
    std::vector<double> by_group(circuit_->noise_groups.size());
    for (const NoiseSource& source : circuit_->noise) {
        Complex transfer = 0;
        for (const auto& [equation, weight] : source.injection.terms) {
            if (equation >= 0) transfer += weight * response.y[static_cast<std::size_t>(equation)];
        }
        by_group[static_cast<std::size_t>(source.group)] +=
            std::norm(transfer) * density_at(source, *circuit_, response.frequency_hz);
    }
    return by_group;
}

/// To first order, entries of A that are known to rounding leave the gain uncertain by
/// epsilon |y|^T |A| |x| (Higham, Accuracy and Stability of Numerical Algorithms, section 7.2).
/// In a notch the gain may be as small as it likes; what is lost against a gain of one counts then.
void Network::check_trust(const Response& response) {
    constexpr double most_uncertain = 1e-5;  // 0.0001 dB, a tenth of what integrals promise
    constexpr double smallest_gain = 1e-6;
    // Within a factor sqrt 2 of the modulus, and much cheaper.
    const auto magnitude = [](Complex z) { return std::abs(z.real()) + std::abs(z.imag()); };
    evaluate(pencil_, response.frequency_hz, scratch_);
    std::vector<double> in_row;
    for (const Complex& y : response.y) in_row.push_back(magnitude(y));
    double sum = 0;
    for (std::size_t column = 0; column < response.x.size(); ++column) {
        double in_column = 0;
        for (int slot = pencil_.column_start[column]; slot < pencil_.column_start[column + 1];
             ++slot) {
            const auto k = static_cast<std::size_t>(slot);
            in_column += magnitude(scratch_[k]) * in_row[static_cast<std::size_t>(pencil_.row[k])];
        }
        sum += in_column * magnitude(response.x[column]);
    }
    const double uncertainty = std::numeric_limits<double>::epsilon() * sum;
    const double gain = std::max(std::abs(response.gain), smallest_gain);
    if (!(uncertainty <= most_uncertain * gain)) report_singular(response.frequency_hz, -1);
}

void Network::check_range(double frequency_hz) const {
    if (frequency_hz >= circuit_->lowest_hz && frequency_hz <= circuit_->highest_hz) return;
    Diagnostic d;
    d.code = "outside-measurement";
    d.at = circuit_->parts.back().at;
    d.subject = std::string(capsule_part);
    d.found = fmt::format("its impedance is not known at {}",
                          print_quantity(frequency_hz, Unit::hertz, 4));
    d.accepted = fmt::format("{} to {}, as it was measured",
                             print_quantity(circuit_->lowest_hz, Unit::hertz, 4),
                             print_quantity(circuit_->highest_hz, Unit::hertz, 4));
    d.advice = "measure further, or set extrapolate = true in the capsule's table";
    throw Error(Error::Kind::unusable_input, {d});
}

void Network::report_singular(double frequency_hz, int unknown) const {
    Diagnostic d;
    d.code = "no-unique-solution";
    d.at = circuit_->parts.front().at;
    const std::string at = print_quantity(frequency_hz, Unit::hertz, 4);
    d.found = unknown < 0
                  ? fmt::format("the equations cannot be solved to a trustworthy result at {}", at)
                  : fmt::format("the equations leave {} free at {}",
                                circuit_->unknowns[static_cast<std::size_t>(unknown)], at);
    d.advice =
        "look there for a node that nothing drives, or a gain that feeds back on itself "
        "without loss; 'lowhiss inspect' lists what is suspicious";
    throw Error(Error::Kind::no_unique_solution, {d});
}

}  // namespace lowhiss
