// Compiled once for each instruction set (Highway, "foreach_target"). The choice among them is made
// here and not by Highway's library, which calibrates a timer at the start of every program that
// links it: some 6 ms.

#include <algorithm>
#include <array>
#include <span>
#include <utility>

// x86 processors of the last ten years have AVX2 or AVX-512; the baseline runs on all others.
#define HWY_DISABLED_TARGETS (HWY_SSSE3 | HWY_SSE4 | HWY_AVX3_DL)
#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "lowhiss/solver/lane_kernel.cpp"
#include <hwy/foreach_target.h>
// After foreach_target.
#include <hwy/highway.h>

#include "lowhiss/solver/lane_kernel.hpp"

HWY_BEFORE_NAMESPACE();
namespace lowhiss::HWY_NAMESPACE {
namespace {

namespace hn = hwy::HWY_NAMESPACE;
using Tag = hn::CappedTag<double, lanes>;
using Vector = hn::Vec<Tag>;

constexpr Tag tag;

/// Each step processes all lanes, in as many vectors as that takes.
constexpr std::size_t width = hn::MaxLanes(tag);
constexpr std::size_t parts = lanes / width;

/// A complex number in each lane of a vector.
struct Pack {
    Vector re;
    Vector im;
};

inline double* item(double* array, int index) {
    return array + static_cast<std::size_t>(index) * lane_stride;
}
inline const double* item(const double* array, int index) {
    return array + static_cast<std::size_t>(index) * lane_stride;
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

/// 1 / z. For |z| above 1e154 or below 1e-154 the result is NaN or zero, which shows in the
/// residual.
inline Pack inverse_of(Pack z) {
    const Vector norm = hn::MulAdd(z.re, z.re, hn::Mul(z.im, z.im));
    const Vector factor = hn::Div(hn::Set(tag, 1.0), norm);
    return {hn::Mul(z.re, factor), hn::Neg(hn::Mul(z.im, factor))};
}

template <class Work, std::size_t... part>
HWY_INLINE void each_part(Work work, std::index_sequence<part...>) {
    (work(part * width), ...);
}

/// Calls work(lane) for the first lane of every vector, unrolled so that the vectors are computed
/// side by side.
template <class Work>
HWY_INLINE void each_part(Work work) {
    each_part(work, std::make_index_sequence<parts>());
}

void Fill(const std::vector<double>& g, const std::vector<double>& c, const double* omega,
          double* slots) {
    for (std::size_t k = 0; k < g.size(); ++k) {
        double* const to = slots + k * lane_stride;
        const Vector real = hn::Set(tag, g[k]);
        const Vector slope = hn::Set(tag, c[k]);
        each_part([&](std::size_t lane) HWY_ATTR {
            store({real, hn::Mul(hn::Load(tag, omega + lane), slope)}, to + lane);
        });
    }
}

void Factorise(const Elimination& elimination, const std::vector<double>& scale, double* slots,
               double* smallest, double* largest) {
    each_part([&](std::size_t lane) HWY_ATTR {
        hn::Store(hn::Set(tag, 1e300), tag, smallest + lane);
        hn::Store(hn::Zero(tag), tag, largest + lane);
    });
    const int* target = elimination.targets.data();
    for (std::size_t k = 0; k < elimination.pivot.size(); ++k) {
        double* const pivot = item(slots, elimination.pivot[k]);
        const Vector unit = hn::Set(tag, scale[k]);
        each_part([&](std::size_t lane) HWY_ATTR {
            const Pack value = load(pivot + lane);
            const Vector size = hn::Mul(magnitude(value), unit);
            hn::Store(hn::Min(hn::Load(tag, smallest + lane), size), tag, smallest + lane);
            hn::Store(hn::Max(hn::Load(tag, largest + lane), size), tag, largest + lane);
            store(inverse_of(value), pivot + lane);
        });
        const auto upper = elimination.upper.of(k);
        for (const int lower : elimination.lower.of(k)) {
            double* const low = item(slots, lower);
            each_part([&](std::size_t lane) HWY_ATTR {
                store(product(load(low + lane), load(pivot + lane)), low + lane);
            });
            for (const int up : upper) {
                double* const to = item(slots, *target++);
                const double* const u = item(slots, up);
                each_part([&](std::size_t lane) HWY_ATTR {
                    store(less_product(load(to + lane), load(low + lane), load(u + lane)),
                          to + lane);
                });
            }
        }
        for (const int up : upper) {
            double* const u = item(slots, up);
            each_part([&](std::size_t lane) HWY_ATTR {
                store(product(load(u + lane), load(pivot + lane)), u + lane);
            });
        }
    }
}

/// Processes two independent lists alternately, so that the arithmetic of one continues while the
/// other waits for a value.
template <class Terms, class Work>
HWY_INLINE void alternate(const Terms& a, double* a_values, const Terms& b, double* b_values,
                          Work work) {
    const std::size_t both = std::min(a.size(), b.size());
    for (std::size_t k = 0; k < both; ++k) {
        work(a[k], a_values);
        work(b[k], b_values);
    }
    for (std::size_t k = both; k < a.size(); ++k) work(a[k], a_values);
    for (std::size_t k = both; k < b.size(); ++k) work(b[k], b_values);
}

void SubstituteOnce(std::span<const LinearTerm> a, double* a_values, std::span<const LinearTerm> b,
                    double* b_values, const double* omega) {
    alternate(a, a_values, b, b_values, [&](const LinearTerm& term, double* values) HWY_ATTR {
        double* const to = item(values, term.to);
        const double* const from = item(values, term.from);
        const Vector g = hn::Set(tag, term.g);
        const Vector c = hn::Set(tag, term.c);
        each_part([&](std::size_t lane) HWY_ATTR {
            const Pack coefficient{g, hn::Mul(hn::Load(tag, omega + lane), c)};
            store(less_product(load(to + lane), coefficient, load(from + lane)), to + lane);
        });
    });
}

void SubstituteEach(std::span<const Term> a, double* a_values, std::span<const Term> b,
                    double* b_values, const double* slots) {
    alternate(a, a_values, b, b_values, [&](const Term& term, double* values) HWY_ATTR {
        double* const to = item(values, term.to);
        const double* const from = item(values, term.from);
        const double* const slot = item(slots, term.slot);
        each_part([&](std::size_t lane) HWY_ATTR {
            store(less_product(load(to + lane), load(slot + lane), load(from + lane)), to + lane);
        });
    });
}

void Scale(const std::vector<double>& once, const std::vector<int>& each, const double* slots,
           double* values) {
    for (const double inverse : once) {
        const Vector factor = hn::Set(tag, inverse);
        each_part([&](std::size_t lane) HWY_ATTR {
            const Pack value = load(values + lane);
            store({hn::Mul(value.re, factor), hn::Mul(value.im, factor)}, values + lane);
        });
        values += lane_stride;
    }
    for (const int slot : each) {
        const double* const inverse = item(slots, slot);
        each_part([&](std::size_t lane) HWY_ATTR {
            store(product(load(values + lane), load(inverse + lane)), values + lane);
        });
        values += lane_stride;
    }
}

// std::array loses the compiler's knowledge of vector types.
// NOLINTBEGIN(modernize-avoid-c-arrays)
void Residual(const Equations& equations, const double* omega, const double* b, const double* x,
              double* r, double* size) {
    for (std::size_t k = 0; k < equations.to.size(); ++k) {
        const int to = equations.to[k];
        const auto* term = equations.g.data() + equations.start[k];
        const auto* const last = equations.g.data() + equations.start[k + 1];
        Pack left[parts];
        Vector whole[parts];
        each_part([&](std::size_t lane) HWY_ATTR {
            left[lane / width] = load(item(b, to) + lane);
            whole[lane / width] = magnitude(left[lane / width]);
        });
        for (; term != last; ++term) {
            const Vector g = hn::Set(tag, term->value);
            const Vector size_of_g = hn::Abs(g);
            const double* const from = item(x, term->from);
            each_part([&](std::size_t lane) HWY_ATTR {
                const Pack unknown = load(from + lane);
                Pack& z = left[lane / width];
                z = {hn::NegMulAdd(g, unknown.re, z.re), hn::NegMulAdd(g, unknown.im, z.im)};
                whole[lane / width] =
                    hn::MulAdd(size_of_g, magnitude(unknown), whole[lane / width]);
            });
        }
        each_part([&](std::size_t lane) HWY_ATTR {
            store(left[lane / width], item(r, to) + lane);
            hn::Store(whole[lane / width], tag, size + static_cast<std::size_t>(to) * lanes + lane);
        });
    }
    for (const LinearTerm& term : equations.c) {
        const Vector c = hn::Set(tag, term.c);
        double* const to = item(r, term.to);
        double* const size_to = size + static_cast<std::size_t>(term.to) * lanes;
        const double* const from = item(x, term.from);
        each_part([&](std::size_t lane) HWY_ATTR {
            const Vector value = hn::Mul(hn::Load(tag, omega + lane), c);
            const Pack unknown = load(from + lane);
            const Pack left = load(to + lane);
            store(
                {hn::MulAdd(value, unknown.im, left.re), hn::NegMulAdd(value, unknown.re, left.im)},
                to + lane);
            hn::Store(hn::MulAdd(hn::Abs(value), magnitude(unknown), hn::Load(tag, size_to + lane)),
                      tag, size_to + lane);
        });
    }
}

// NOLINTEND(modernize-avoid-c-arrays)

void StrictError(std::size_t unknowns, double enough, const double* r, const double* size,
                 double* error) {
    each_part([&](std::size_t lane) HWY_ATTR {
        Vector worst = hn::Set(tag, enough);
        for (std::size_t k = 0; k < unknowns; ++k) {
            const Vector left = magnitude(load(r + k * lane_stride + lane));
            const Vector whole = hn::Load(tag, size + k * lanes + lane);
            // Divisions are slow, and most equations need none.
            if (hn::AllTrue(tag, hn::Le(left, hn::Mul(worst, whole)))) continue;
            const auto measured = hn::Gt(whole, hn::Zero(tag));
            const Vector ratio = hn::IfThenElse(measured, hn::Div(left, whole), left);
            // Comparisons with NaN are false, so NaN is kept.
            worst = hn::IfThenElse(hn::Le(ratio, worst), worst, ratio);
        }
        hn::Store(worst, tag, error + lane);
    });
}

void AddTo(std::size_t unknowns, const double* going, const double* r, double* x) {
    each_part([&](std::size_t lane) HWY_ATTR {
        const auto goes = hn::Ne(hn::Load(tag, going + lane), hn::Zero(tag));
        for (std::size_t k = 0; k < 2 * unknowns; ++k) {
            double* const to = x + k * lanes + lane;
            const Vector old = hn::Load(tag, to);
            const Vector sum = hn::Add(old, hn::Load(tag, r + k * lanes + lane));
            hn::Store(hn::IfThenElse(goes, sum, old), tag, to);
        }
    });
}

void Uncertainty(std::size_t unknowns, const double* y, const double* size, const double* b,
                 double* sum) {
    each_part([&](std::size_t lane) HWY_ATTR {
        Vector total = hn::Zero(tag);
        for (std::size_t k = 0; k < unknowns; ++k) {
            const Vector terms = hn::Sub(hn::Load(tag, size + k * lanes + lane),
                                         magnitude(load(b + k * lane_stride + lane)));
            total = hn::MulAdd(magnitude(load(y + k * lane_stride + lane)), terms, total);
        }
        hn::Store(total, tag, sum + lane);
    });
}

void Bilinear(const std::vector<LinearTerm>& terms, const double* y, const double* x, double* sum) {
    each_part([&](std::size_t lane) HWY_ATTR {
        Pack total{hn::Zero(tag), hn::Zero(tag)};
        for (const LinearTerm& term : terms) {
            const Pack right = load(item(x, term.from) + lane);
            const Vector factor = hn::Set(tag, term.c);
            const Pack both = product(load(item(y, term.to) + lane),
                                      {hn::Mul(factor, right.re), hn::Mul(factor, right.im)});
            total = {hn::Add(total.re, both.re), hn::Add(total.im, both.im)};
        }
        store(total, sum + lane);
    });
}

}  // namespace

// The name is that of the namespace, "N_AVX2", less its first two letters. Constant initialisation:
// code that sets it up at the start would be compiled for an instruction set that may not be there.
extern const LaneKernel kernel;
constinit const LaneKernel kernel{&HWY_STR(HWY_NAMESPACE)[2],
                                  Fill,
                                  Factorise,
                                  SubstituteOnce,
                                  SubstituteEach,
                                  Scale,
                                  Residual,
                                  StrictError,
                                  AddTo,
                                  Uncertainty,
                                  Bilinear};

}  // namespace lowhiss::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace lowhiss {
namespace {

std::vector<const LaneKernel*> kernels_of_this_processor() {
    std::vector<const LaneKernel*> kernels;
#if HWY_TARGETS & HWY_AVX3
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512cd") &&
        __builtin_cpu_supports("avx512bw") && __builtin_cpu_supports("avx512dq") &&
        __builtin_cpu_supports("avx512vl")) {
        kernels.push_back(&N_AVX3::kernel);
    }
#endif
#if HWY_TARGETS & HWY_AVX2
    if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
        __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2")) {
        kernels.push_back(&N_AVX2::kernel);
    }
#endif
    kernels.push_back(&HWY_STATIC_DISPATCH(kernel));
    return kernels;
}

}  // namespace

std::span<const LaneKernel* const> lane_kernels() {
    static const std::vector<const LaneKernel*> kernels = kernels_of_this_processor();
    return kernels;
}

const char* instruction_set(const LaneKernel& kernel) {
    return kernel.instruction_set;
}

}  // namespace lowhiss
#endif
