#include "lowhiss/fit/least_squares.hpp"

#include <Eigen/Core>
#include <cmath>
#include <unsupported/Eigen/LevenbergMarquardt>
#include <unsupported/Eigen/NumericalDiff>

// The only unit that includes Eigen's Levenberg-Marquardt method, which takes long to compile.

namespace lowhiss {
namespace {

struct Problem : Eigen::DenseFunctor<double> {
    Problem(const Residuals& asked, int unknowns, int count)
        : DenseFunctor(unknowns, count), residuals(&asked) {}

    int operator()(const InputType& at, ValueType& out) const {
        const std::vector<double> values = (*residuals)({at.data(), at.data() + at.size()});
        for (std::size_t k = 0; k < values.size(); ++k) out[static_cast<int>(k)] = values[k];
        return 0;
    }

    const Residuals* residuals;
};

}  // namespace

std::vector<double> least_squares(const Residuals& residuals, const std::vector<double>& start) {
    constexpr int most_calls = 2000;
    Eigen::VectorXd x(static_cast<int>(start.size()));
    for (std::size_t k = 0; k < start.size(); ++k) x[static_cast<int>(k)] = start[k];
    Problem problem(residuals, static_cast<int>(start.size()),
                    static_cast<int>(residuals(start).size()));
    Eigen::NumericalDiff<Problem, Eigen::Central> differences(problem);
    Eigen::LevenbergMarquardt<Eigen::NumericalDiff<Problem, Eigen::Central>> method(differences);
    method.setMaxfev(most_calls);
    method.minimize(x);
    return {x.data(), x.data() + x.size()};
}

double rms(const std::vector<double>& residuals) {
    double sum = 0;
    for (const double r : residuals) sum += r * r;
    return residuals.empty() ? 0 : std::sqrt(sum / static_cast<double>(residuals.size()));
}

}  // namespace lowhiss
