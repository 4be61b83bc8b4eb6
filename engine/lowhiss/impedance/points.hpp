#pragma once

#include <array>
#include <complex>
#include <optional>
#include <string_view>
#include <vector>

#include "lowhiss/impedance/file.hpp"
#include "lowhiss/text/lines.hpp"

/// Shared by the readers of impedance files; private to this folder.
namespace lowhiss::impedance_file {

/// Collects the points and checks each against the rules that all formats share.
class Points {
  public:
    explicit Points(Faults& faults) : faults_(faults) {}

    void add(const Token& field, double frequency_hz);

    /// Sets the impedance of the point that was added last.
    void set_impedance(const Token& field, std::complex<double> impedance_ohm);

    std::size_t size() const { return points_.size(); }

    /// The points, or none if the file has a fault.
    std::vector<ImpedancePoint> take();

  private:
    void check_frequency(const Token& field, double frequency_hz) const;
    void check_impedance(const Token& field, std::complex<double> impedance_ohm) const;

    Faults& faults_;
    std::vector<ImpedancePoint> points_;
};

/// Three finite numbers and nothing else; every field that is none is a fault.
std::optional<std::array<double, 3>> three_numbers(const std::vector<Token>& fields,
                                                   std::string_view accepted, Faults& faults);

/// Magnitude and angle as a complex number; a negative magnitude is a fault.
std::optional<std::complex<double>> polar(const Token& field, double magnitude, double angle_deg,
                                          Faults& faults);

void read_csv(std::string_view text, Points& points, Faults& faults);
void read_one_port(std::string_view text, Points& points, Faults& faults);

}  // namespace lowhiss::impedance_file
