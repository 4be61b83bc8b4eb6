#pragma once

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <boost/multiprecision/cpp_complex.hpp>
#include <stdexcept>
#include <utility>
#include <vector>

namespace lowhiss::test {

/// Fifty decimal digits: what doubles are held against.
using WideReal = boost::multiprecision::cpp_bin_float_50;
using Wide = boost::multiprecision::cpp_complex_50;
using WideMatrix = std::vector<std::vector<Wide>>;

inline WideReal size_of(const Wide& z) {
    return boost::multiprecision::abs(WideReal(z.real())) +
           boost::multiprecision::abs(WideReal(z.imag()));
}

inline bool is_zero(const Wide& z) {
    return z.real() == 0 && z.imag() == 0;
}

/// Brings a row of the largest pivot up and takes multiples of it from the rows below.
inline void eliminate_column(WideMatrix& a, std::size_t k) {
    std::size_t pivot = k;
    for (std::size_t i = k + 1; i < a.size(); ++i) {
        if (size_of(a[i][k]) > size_of(a[pivot][k])) pivot = i;
    }
    std::swap(a[k], a[pivot]);
    if (is_zero(a[k][k])) throw std::domain_error("singular in fifty digits");
    for (std::size_t i = k + 1; i < a.size(); ++i) {
        if (is_zero(a[i][k])) continue;
        const Wide factor = a[i][k] / a[k][k];
        for (std::size_t j = k; j < a[i].size(); ++j) {
            if (!is_zero(a[k][j])) a[i][j] -= factor * a[k][j];
        }
    }
}

/// A^-1 b by Gaussian elimination with partial pivoting; throws std::domain_error where A is
/// singular.
inline std::vector<Wide> solve_wide(WideMatrix a, const std::vector<Wide>& b) {
    for (std::size_t i = 0; i < a.size(); ++i) a[i].push_back(b[i]);
    for (std::size_t k = 0; k < a.size(); ++k) eliminate_column(a, k);
    std::vector<Wide> x(b.size());
    for (std::size_t i = b.size(); i-- > 0;) {
        Wide sum = a[i].back();
        for (std::size_t j = i + 1; j < b.size(); ++j) {
            if (!is_zero(a[i][j])) sum -= a[i][j] * x[j];
        }
        x[i] = sum / a[i][i];
    }
    return x;
}

}  // namespace lowhiss::test
