// Compiled once for each instruction set that the compiler knows; the best one for the processor is
// chosen when it is first called (Highway, "foreach_target").

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "solver/lane_kernel.cpp"
#include <hwy/foreach_target.h>
// After foreach_target.
#include <hwy/highway.h>

#include "lane_kernel.hpp"
#include "lowhiss/solver/solver.hpp"

HWY_BEFORE_NAMESPACE();
namespace lowhiss::HWY_NAMESPACE {
namespace {

namespace hn = hwy::HWY_NAMESPACE;
using Tag = hn::CappedTag<double, lanes>;
using Vector = hn::Vec<Tag>;

constexpr Tag tag;

inline std::size_t width() {
    return hn::Lanes(tag);
}

/// A complex number in as many lanes as a vector holds.
struct Pack {
    Vector re;
    Vector im;
};

inline double* item(double* array, int index, std::size_t lane) {
    return array + static_cast<std::size_t>(index) * lane_stride + lane;
}
inline const double* item(const double* array, int index, std::size_t lane) {
    return array + static_cast<std::size_t>(index) * lane_stride + lane;
}
inline Pack load(const double* at) {
    return {hn::Load(tag, at), hn::Load(tag, at + lanes)};
}
inline void store(Pack z, double* at) {
    hn::Store(z.re, tag, at);
    hn::Store(z.im, tag, at + lanes);
}
inline Pack product(Pack a, Pack b) {
    return {hn::NegMulAdd(a.im, b.im, hn::Mul(a.re, b.re)),
            hn::MulAdd(a.re, b.im, hn::Mul(a.im, b.re))};
}
inline Pack less_product(Pack z, Pack a, Pack b) {
    return {hn::MulAdd(a.im, b.im, hn::NegMulAdd(a.re, b.re, z.re)),
            hn::NegMulAdd(a.im, b.re, hn::NegMulAdd(a.re, b.im, z.im))};
}
inline Vector magnitude(Pack z) {
    return hn::Add(hn::Abs(z.re), hn::Abs(z.im));
}

/// 1 / z, scaled by |z| so that neither a tiny nor a huge pivot leaves the range.
inline Pack inverse_of(Pack z) {
    const Vector scale = hn::Div(hn::Set(tag, 1.0), magnitude(z));
    const Pack small{hn::Mul(z.re, scale), hn::Mul(z.im, scale)};
    const Vector norm = hn::MulAdd(small.re, small.re, hn::Mul(small.im, small.im));
    const Vector factor = hn::Div(scale, norm);
    return {hn::Mul(small.re, factor), hn::Neg(hn::Mul(small.im, factor))};
}

void Factorise(const Program& program, const double* pivot_scale, double* slots, double* inverse,
               double* pivot_ratio) {
    const std::size_t n = program.pivot.size();
    for (std::size_t lane = 0; lane < lanes; lane += width()) {
        Vector smallest = hn::Set(tag, 1e300);
        Vector largest = hn::Zero(tag);
        const int* target = program.targets.data();
        for (std::size_t k = 0; k < n; ++k) {
            const Pack pivot = load(item(slots, program.pivot[k], lane));
            const Vector size = hn::Mul(magnitude(pivot), hn::Set(tag, pivot_scale[k]));
            smallest = hn::Min(smallest, size);
            largest = hn::Max(largest, size);
            const Pack reciprocal = inverse_of(pivot);
            store(reciprocal, item(inverse, static_cast<int>(k), lane));
            const auto* const upper = program.upper.data() + program.upper_start[k];
            const auto* const upper_end = program.upper.data() + program.upper_start[k + 1];
            const auto* const lower_end = program.lower.data() + program.lower_start[k + 1];
            for (const auto* low = program.lower.data() + program.lower_start[k]; low != lower_end;
                 ++low) {
                double* const at = item(slots, low->slot, lane);
                const Pack l = product(load(at), reciprocal);
                store(l, at);
                for (const auto* up = upper; up != upper_end; ++up) {
                    double* const to = item(slots, *target++, lane);
                    store(less_product(load(to), l, load(item(slots, up->slot, lane))), to);
                }
            }
        }
        hn::Store(hn::Div(smallest, largest), tag, pivot_ratio + lane);
    }
}

void Solve(const Program& program, const double* slots, const double* inverse, double* work,
           double* x) {
    const std::size_t n = program.pivot.size();
    for (std::size_t lane = 0; lane < lanes; lane += width()) {
        for (std::size_t k = 0; k < n; ++k) {
            const Pack value = load(item(work, program.row_of[k], lane));
            for (int e = program.lower_start[k]; e < program.lower_start[k + 1]; ++e) {
                const auto [slot, row] = program.lower[static_cast<std::size_t>(e)];
                double* const to = item(work, row, lane);
                store(less_product(load(to), load(item(slots, slot, lane)), value), to);
            }
        }
        for (std::size_t k = n; k-- > 0;) {
            Pack value = load(item(work, program.row_of[k], lane));
            for (int e = program.upper_start[k]; e < program.upper_start[k + 1]; ++e) {
                const auto [slot, column] = program.upper[static_cast<std::size_t>(e)];
                value =
                    less_product(value, load(item(slots, slot, lane)), load(item(x, column, lane)));
            }
            const Pack reciprocal = load(item(inverse, static_cast<int>(k), lane));
            store(product(value, reciprocal), item(x, program.column_of[k], lane));
        }
    }
}

void SolveTransposed(const Program& program, const double* slots, const double* inverse,
                     double* work, double* y) {
    const std::size_t n = program.pivot.size();
    for (std::size_t lane = 0; lane < lanes; lane += width()) {
        for (std::size_t k = 0; k < n; ++k) {
            const Pack reciprocal = load(item(inverse, static_cast<int>(k), lane));
            const Pack value = product(load(item(work, program.column_of[k], lane)), reciprocal);
            store(value, item(y, program.row_of[k], lane));
            for (int e = program.upper_start[k]; e < program.upper_start[k + 1]; ++e) {
                const auto [slot, column] = program.upper[static_cast<std::size_t>(e)];
                double* const to = item(work, column, lane);
                store(less_product(load(to), load(item(slots, slot, lane)), value), to);
            }
        }
        for (std::size_t k = n; k-- > 0;) {
            double* const at = item(y, program.row_of[k], lane);
            Pack value = load(at);
            for (int e = program.lower_start[k]; e < program.lower_start[k + 1]; ++e) {
                const auto [slot, row] = program.lower[static_cast<std::size_t>(e)];
                value =
                    less_product(value, load(item(slots, slot, lane)), load(item(y, row, lane)));
            }
            store(value, at);
        }
    }
}

void Residual(const SplitEquations& equations, const double* omega, const double* b,
              const double* x, double* magnitudes, double* r, double* size) {
    const std::size_t n = equations.g.start.size() - 1;
    for (std::size_t lane = 0; lane < lanes; lane += width()) {
        const Vector w = hn::Load(tag, omega + lane);
        for (std::size_t k = 0; k < n; ++k) {
            hn::Store(magnitude(load(item(x, static_cast<int>(k), lane))), tag,
                      magnitudes + k * lanes + lane);
        }
        const auto magnitude_at = [&](int index) {
            return hn::Load(tag, magnitudes + static_cast<std::size_t>(index) * lanes + lane);
        };
        for (std::size_t k = 0; k < n; ++k) {
            Pack left = load(item(b, static_cast<int>(k), lane));
            Vector whole = magnitude(left);
            for (int e = equations.g.start[k]; e < equations.g.start[k + 1]; ++e) {
                const auto [index, value] = equations.g.terms[static_cast<std::size_t>(e)];
                const Vector g = hn::Set(tag, value);
                const Pack unknown = load(item(x, index, lane));
                left = {hn::NegMulAdd(g, unknown.re, left.re),
                        hn::NegMulAdd(g, unknown.im, left.im)};
                whole = hn::MulAdd(hn::Abs(g), magnitude_at(index), whole);
            }
            Pack charge{hn::Zero(tag), hn::Zero(tag)};
            Vector charges = hn::Zero(tag);
            for (int e = equations.c.start[k]; e < equations.c.start[k + 1]; ++e) {
                const auto [index, value] = equations.c.terms[static_cast<std::size_t>(e)];
                const Vector c = hn::Set(tag, value);
                const Pack unknown = load(item(x, index, lane));
                charge = {hn::MulAdd(c, unknown.re, charge.re),
                          hn::MulAdd(c, unknown.im, charge.im)};
                charges = hn::MulAdd(hn::Abs(c), magnitude_at(index), charges);
            }
            store({hn::MulAdd(w, charge.im, left.re), hn::NegMulAdd(w, charge.re, left.im)},
                  item(r, static_cast<int>(k), lane));
            hn::Store(hn::MulAdd(w, charges, whole), tag, size + k * lanes + lane);
        }
    }
}

void StrictError(std::size_t unknowns, const double* r, const double* size, double* error) {
    for (std::size_t lane = 0; lane < lanes; lane += width()) {
        Vector worst = hn::Zero(tag);
        for (std::size_t k = 0; k < unknowns; ++k) {
            const Vector left = magnitude(load(item(r, static_cast<int>(k), lane)));
            const Vector whole = hn::Load(tag, size + k * lanes + lane);
            const auto measured = hn::Gt(whole, hn::Zero(tag));
            const Vector ratio = hn::IfThenElse(measured, hn::Div(left, whole), left);
            // A comparison with what is not a number is false: it stays.
            worst = hn::IfThenElse(hn::Le(ratio, worst), worst, ratio);
        }
        hn::Store(worst, tag, error + lane);
    }
}

const char* Target() {
    return hwy::TargetName(HWY_TARGET);
}

}  // namespace
}  // namespace lowhiss::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace lowhiss {

HWY_EXPORT(Factorise);
HWY_EXPORT(Solve);
HWY_EXPORT(SolveTransposed);
HWY_EXPORT(Residual);
HWY_EXPORT(StrictError);
HWY_EXPORT(Target);

void factorise_lanes(const Program& program, const double* pivot_scale, double* slots,
                     double* inverse, double* pivot_ratio) {
    HWY_DYNAMIC_DISPATCH(Factorise)(program, pivot_scale, slots, inverse, pivot_ratio);
}

void solve_lanes(const Program& program, const double* slots, const double* inverse, double* work,
                 double* x) {
    HWY_DYNAMIC_DISPATCH(Solve)(program, slots, inverse, work, x);
}

void solve_transposed_lanes(const Program& program, const double* slots, const double* inverse,
                            double* work, double* y) {
    HWY_DYNAMIC_DISPATCH(SolveTransposed)(program, slots, inverse, work, y);
}

void residual_lanes(const SplitEquations& equations, const double* omega, const double* b,
                    const double* x, double* magnitude, double* r, double* size) {
    HWY_DYNAMIC_DISPATCH(Residual)(equations, omega, b, x, magnitude, r, size);
}

void strict_error_lanes(std::size_t unknowns, const double* r, const double* size, double* error) {
    HWY_DYNAMIC_DISPATCH(StrictError)(unknowns, r, size, error);
}

const char* instruction_set() {
    return HWY_DYNAMIC_DISPATCH(Target)();
}

}  // namespace lowhiss
#endif
