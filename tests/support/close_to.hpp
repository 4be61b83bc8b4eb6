#pragma once

#include <complex>
#include <string>

#include "support/catch.hpp"

/// Catch prints six digits of a complex number otherwise.
template <>
struct Catch::StringMaker<std::complex<double>> {
    static std::string convert(const std::complex<double>& z) {
        return "(" + Detail::stringify(z.real()) + ", " + Detail::stringify(z.imag()) + ")";
    }
};

namespace lowhiss::test {

/// Matches a figure, real or complex, at most a distance away from the expected one.
class Within : public MatcherBase<std::complex<double>> {
  public:
    Within(std::complex<double> expected, double distance)
        : expected_(expected), distance_(distance) {}

    bool match(const std::complex<double>& figure) const override {
        return std::abs(figure - expected_) <= distance_;
    }
    std::string describe() const override {
        return "is within " + Catch::Detail::stringify(distance_) + " of " +
               Catch::Detail::stringify(expected_);
    }

  private:
    std::complex<double> expected_;
    double distance_;
};

/// Likewise, the distance as a share of the expected figure.
inline Within CloseTo(std::complex<double> expected, double relative) {
    return {expected, relative * std::abs(expected)};
}

}  // namespace lowhiss::test
