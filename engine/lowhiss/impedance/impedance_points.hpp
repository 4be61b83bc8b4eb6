#pragma once

#include <complex>
#include <string_view>
#include <vector>

#include "lowhiss/impedance/impedance_file.hpp"
#include "lowhiss/impedance/impedance_text.hpp"

namespace lowhiss::impedance_file {

/// Collects the points and holds each against the rules that every format shares.
class Points {
  public:
    explicit Points(Faults& faults) : faults_(faults) {}

    void add(const Token& field, double frequency_hz);

    /// Gives the point added last its impedance; one without has a fault in its line.
    void set_impedance(const Token& field, std::complex<double> impedance_ohm);

    std::size_t size() const { return points_.size(); }

    /// The points if the whole file is without fault, otherwise none.
    std::vector<ImpedancePoint> take();

  private:
    void check_frequency(const Token& field, double frequency_hz) const;
    void check_impedance(const Token& field, std::complex<double> impedance_ohm) const;

    Faults& faults_;
    std::vector<ImpedancePoint> points_;
};

void read_csv(std::string_view text, Points& points, Faults& faults);
void read_touchstone(std::string_view text, Points& points, Faults& faults);

}  // namespace lowhiss::impedance_file
