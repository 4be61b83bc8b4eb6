// LAPACK behind plain functions: pairs of eigenvectors, swapped rows, singular and empty matrices.

#include "lowhiss/solver/dense.hpp"

#include <cmath>
#include <random>

#include "support/catch.hpp"

namespace lowhiss::dense_test {

using Catch::Matchers::WithinAbs;
using Eigen::MatrixXcd;
using Eigen::MatrixXd;
using Eigen::VectorXcd;
using Complex = std::complex<double>;

/// Some thousand times the rounding of a double: the random matrices have up to 20 unknowns.
constexpr double rounding = 1e-12;
/// Residuals of 80 unknowns, whose solutions are up to some thousand times the right side.
constexpr double residual = 1e-10;
/// An eigenvalue of a random matrix, its condition number up to some thousands, found by two
/// routes.
constexpr double two_routes = 1e-8;

MatrixXd random_matrix(std::mt19937& generator, int size) {
    std::normal_distribution<double> normal;
    return MatrixXd::NullaryExpr(size, size, [&] { return normal(generator); });
}

MatrixXcd random_complex(std::mt19937& generator, int size) {
    const MatrixXd real = random_matrix(generator, size);
    return real + Complex(0, 1) * random_matrix(generator, size);
}

TEST_CASE("eigenvectors, in pairs too, are what the matrix only scales", "[solver]") {
    std::mt19937 generator(1);
    for (int size = 1; size <= 20; ++size) {
        const MatrixXd a = random_matrix(generator, size);
        const auto [values, vectors] = dense::eigensystem(a);
        const MatrixXcd error = a.cast<Complex>() * vectors - vectors * values.asDiagonal();
        CHECK_THAT(error.cwiseAbs().maxCoeff(), WithinAbs(0, rounding * a.norm()));
        CHECK_THAT((vectors.colwise().norm().array() - 1).abs().maxCoeff(), WithinAbs(0, rounding));
        CHECK_THAT(std::abs(values.sum() - a.trace()), WithinAbs(0, rounding * a.norm()));
        CHECK_THAT((dense::eigenvalues(a) - values).cwiseAbs().maxCoeff(),
                   WithinAbs(0, two_routes * a.norm()));
    }
}

TEST_CASE("eigenvalues of a companion matrix are the roots, pairs side by side", "[solver]") {
    // (x - 3) (x^2 - 2 x + 5) = x^3 - 5 x^2 + 11 x - 15: 3 and 1 +- 2i.
    MatrixXd companion(3, 3);
    companion << 5, -11, 15, 1, 0, 0, 0, 1, 0;
    const VectorXcd roots = dense::eigenvalues(companion);
    const Eigen::Index pair = roots(0).imag() == 0 ? 1 : 0;
    CHECK_THAT(std::abs(roots(pair) - Complex(1, 2)), WithinAbs(0, rounding));
    CHECK(roots(pair + 1) == std::conj(roots(pair)));
    CHECK_THAT(std::abs(roots(pair == 0 ? 2 : 0) - 3.0), WithinAbs(0, rounding));
}

TEST_CASE("an LU solves a matrix, its transpose and its inverse", "[solver]") {
    std::mt19937 generator(2);
    for (int size = 1; size <= 80; size += 13) {
        const MatrixXcd a = random_complex(generator, size);
        const VectorXcd b = VectorXcd::Ones(size);
        dense::PartialLu lu;
        lu.factorise(a);
        CHECK_THAT((a * lu.solve(b) - b).norm(), WithinAbs(0, residual));
        CHECK_THAT((a.transpose() * lu.solve_transposed(b) - b).norm(), WithinAbs(0, residual));
        CHECK_THAT((a * lu.inverse() - MatrixXcd::Identity(size, size)).norm(),
                   WithinAbs(0, residual));
        // |A| = |P L U| is at most P |L| |U| in every entry.
        CHECK((lu.magnitude_product() - a.cwiseAbs()).minCoeff() > -rounding);
        dense::RealPartialLu real;
        real.factorise(a.real());
        CHECK_THAT((a.real() * real.solve(b.real()) - b.real()).norm(), WithinAbs(0, residual));
        CHECK_THAT((a.real().transpose() * real.solve_transposed(b.real()) - b.real()).norm(),
                   WithinAbs(0, residual));
    }
}

TEST_CASE("swapped rows turn the sign of a determinant and no magnitude", "[solver]") {
    // A cycle of three rows is even, an exchange of two is odd.
    MatrixXcd cycle = MatrixXcd::Zero(3, 3);
    cycle(0, 1) = cycle(1, 2) = cycle(2, 0) = 2;
    MatrixXcd exchange = MatrixXcd::Identity(3, 3);
    exchange.row(0).swap(exchange.row(2));
    dense::PartialLu lu;
    lu.factorise(cycle);
    CHECK_THAT(std::abs(lu.determinant_direction() - 1.0), WithinAbs(0, rounding));
    CHECK(lu.magnitude_product() == cycle.real());
    CHECK(lu.pivot_ratio() == 1);
    lu.factorise(exchange);
    CHECK_THAT(std::abs(lu.determinant_direction() + 1.0), WithinAbs(0, rounding));
    CHECK(lu.magnitude_product() == exchange.real());
    lu.factorise(Complex(0, 1) * exchange);  // i^3 times the sign
    CHECK_THAT(std::abs(lu.determinant_direction() - Complex(0, 1)), WithinAbs(0, rounding));
}

TEST_CASE("a matrix that is singular or no number has no solution, an empty one no unknown",
          "[solver]") {
    const MatrixXd singular = MatrixXd::Ones(3, 3);
    CHECK_FALSE(dense::solve(singular, MatrixXd::Identity(3, 3)).allFinite());
    MatrixXd no_number = MatrixXd::Identity(3, 3);
    no_number(1, 1) = std::nan("");
    CHECK_FALSE(dense::solve(no_number, MatrixXd::Identity(3, 3)).allFinite());
    CHECK(dense::eigenvalues(no_number).array().isNaN().all());
    CHECK(dense::eigensystem(no_number).vectors.array().isNaN().all());
    dense::PartialLu lu;
    lu.factorise(no_number.cast<Complex>());
    CHECK_FALSE(lu.pivot_ratio() > 0);

    CHECK(dense::solve(MatrixXd(0, 0), MatrixXd(0, 0)).size() == 0);
    CHECK(dense::eigenvalues(MatrixXd(0, 0)).size() == 0);
    CHECK(dense::eigensystem(MatrixXd(0, 0)).vectors.size() == 0);
    lu.factorise(MatrixXcd(0, 0));
    CHECK(lu.solve(VectorXcd(0)).size() == 0);
}

}  // namespace lowhiss::dense_test
