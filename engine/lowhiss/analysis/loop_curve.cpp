#include "lowhiss/analysis/loop_curve.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/analysis/roots.hpp"
#include "lowhiss/equations/stamp.hpp"

namespace lowhiss {
namespace {

/// The curvature of ln(s - root) over ln omega is |s root / (s - root)^2|.
double bend_of(const std::vector<Complex>& roots, double low, double high) {
    double sum = 0;
    for (const Complex& root : roots) {
        const Complex nearest{0, std::clamp(root.imag(), low, high)};
        sum += high * std::abs(root) / std::norm(nearest - root);
    }
    return sum;
}

class CrossingSearch {
  public:
    explicit CrossingSearch(const LoopCurve& curve) : curve_(curve) {}

    void look(double low, double high, bool for_gain, bool for_phase) {
        constexpr double narrowest = 1e-11;
        const double half = (high - low) / 2;
        const double middle = std::exp(low + half);
        const Complex ln_t = curve_.ln_t(middle);
        const Complex slope = curve_.slope(middle);
        const double bend = curve_.bend(std::exp(low), std::exp(high));
        const bool deepest = half < narrowest;
        const auto reach = [&](double rate) {
            return std::abs(rate) * half + bend * half * half / 2;
        };
        const auto one_way = [&](double rate) { return deepest || std::abs(rate) > bend * half; };
        for_gain = for_gain && !(std::abs(ln_t.real()) > reach(slope.real()));
        if (for_gain && one_way(slope.real())) {
            add_gain(low, high);
            for_gain = false;
        }
        for_phase = for_phase && !(std::abs(beyond_half_turn(ln_t.imag())) > reach(slope.imag()));
        const bool near = reach(slope.imag()) < std::numbers::pi / 2;
        if (for_phase && one_way(slope.imag()) && (near || deepest)) {
            add_phase(low, high);
            for_phase = false;
        }
        if (!for_gain && !for_phase) return;
        look(low, low + half, for_gain, for_phase);
        look(low + half, high, for_gain, for_phase);
    }

    CrossingRanges found;

  private:
    void add_gain(double low, double high) {
        const bool above = curve_.ln_t(std::exp(low)).real() > 0;
        if (above != (curve_.ln_t(std::exp(high)).real() > 0)) found.gain.push_back({low, high});
    }
    void add_phase(double low, double high) {
        const double at_low = beyond_half_turn(curve_.ln_t(std::exp(low)).imag());
        const double at_high = beyond_half_turn(curve_.ln_t(std::exp(high)).imag());
        if ((at_low > 0) == (at_high > 0)) return;
        if (std::abs(at_low - at_high) < std::numbers::pi) found.phase.push_back({low, high});
    }

    const LoopCurve& curve_;
};

Pencil without_entry(const Pencil& pencil, const AmplifierSource& source) {
    Pencil opened = pencil;
    const auto column = static_cast<std::size_t>(source.answer);
    for (int k = pencil.column_start[column]; k < pencil.column_start[column + 1]; ++k) {
        const auto slot = static_cast<std::size_t>(k);
        if (pencil.row[slot] == source.equation) opened.g[slot] = opened.c[slot] = 0;
    }
    return opened;
}

/// The source's law replaced by answer = 1: the determinant is that of the matrix without the row
/// and the column, but for its sign, and the pattern stays that of the pencil.
Pencil with_unit_row(const Pencil& pencil, const AmplifierSource& source) {
    Pencil driven = pencil;
    for (int column = 0; column < pencil.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int k = pencil.column_start[at]; k < pencil.column_start[at + 1]; ++k) {
            const auto slot = static_cast<std::size_t>(k);
            if (pencil.row[slot] != source.equation) continue;
            driven.g[slot] = column == source.answer ? 1 : 0;
            driven.c[slot] = 0;
        }
    }
    return driven;
}

std::vector<Triplet> triplets_of(const Pencil& pencil) {
    std::vector<Triplet> triplets;
    for (int column = 0; column < pencil.size; ++column) {
        const auto at = static_cast<std::size_t>(column);
        for (int k = pencil.column_start[at]; k < pencil.column_start[at + 1]; ++k) {
            const auto slot = static_cast<std::size_t>(k);
            triplets.push_back({pencil.row[slot], column, pencil.g[slot], pencil.c[slot]});
        }
    }
    return triplets;
}

/// Taken away as it was stamped; ground has no row.
std::vector<Triplet> without_transconductance(const Pencil& pencil,
                                              const Transconductance& source) {
    std::vector<Triplet> triplets = triplets_of(pencil);
    const auto add = [&](int to, int from, double siemens) {
        if (to > 0 && from > 0) triplets.push_back({to - 1, from - 1, siemens, 0});
    };
    add(source.main, source.control, -source.siemens);
    add(source.main, source.common, source.siemens);
    add(source.common, source.control, source.siemens);
    add(source.common, source.common, -source.siemens);
    return triplets;
}

/// The matrix without the transconductance, with a column for a current from `main` to `common`
/// and a row for the voltage from `control` to `common`: its determinant over that of the matrix is
/// minus that voltage for a current of 1.
Pencil with_test_current(const Pencil& pencil, const Transconductance& source) {
    std::vector<Triplet> triplets = without_transconductance(pencil, source);
    const int border = pencil.size;
    const auto add = [&](int row, int column, double value) {
        if (row >= 0 && column >= 0) triplets.push_back({row, column, value, 0});
    };
    add(source.main - 1, border, 1);
    add(source.common - 1, border, -1);
    add(border, source.control - 1, 1);
    add(border, source.common - 1, -1);
    return pencil_of(pencil.size + 1, std::move(triplets));
}

/// The pencil with the source replaced by an independent one, and the pencil whose roots are the
/// zeros of T.
struct OpenedPencils {
    Pencil opened;
    Pencil driven;
};

class Opener {
  public:
    explicit Opener(const Pencil& pencil) : pencil_(pencil) {}

    OpenedPencils operator()(const AmplifierSource& source) const {
        return {without_entry(pencil_, source), with_unit_row(pencil_, source)};
    }
    OpenedPencils operator()(const Transconductance& source) const {
        return {pencil_of(pencil_.size, without_transconductance(pencil_, source)),
                with_test_current(pencil_, source)};
    }

  private:
    const Pencil& pencil_;
};

}  // namespace

Complex LoopCurve::ln_t(double omega) const {
    Complex sum = ln_factor;
    for (const Complex& zero : zeros) sum += std::log(Complex(0, omega) - zero);
    for (const Complex& pole : poles) sum -= std::log(Complex(0, omega) - pole);
    return sum;
}

Complex LoopCurve::slope(double omega) const {
    const Complex s(0, omega);
    Complex sum = 0;
    for (const Complex& zero : zeros) sum += s / (s - zero);
    for (const Complex& pole : poles) sum -= s / (s - pole);
    return sum;
}

double LoopCurve::bend(double low, double high) const {
    return bend_of(zeros, low, high) + bend_of(poles, low, high);
}

double beyond_half_turn(double angle_rad) {
    return std::remainder(angle_rad - std::numbers::pi, 2 * std::numbers::pi);
}

CrossingRanges crossings_of(const LoopCurve& curve, double low_omega, double high_omega) {
    CrossingSearch search(curve);
    const double low = std::log(low_omega);
    const double width = std::log(high_omega / low_omega);
    const double parts = std::ceil(width);
    for (double k = 0; k < parts; ++k) {
        search.look(low + width * k / parts, low + width * (k + 1) / parts, true, true);
    }
    return std::move(search.found);
}

std::optional<LoopCurve> loop_curve(const Pencil& pencil, const Plan* plan,
                                    const LoopSource& source) {
    if (pencil.size < 2) return std::nullopt;
    const Pencil held = with_held_impedances(pencil);
    const OpenedPencils pencils = std::visit(Opener(held), source.law);
    const auto zeros = rough_roots(pencils.driven, plan);
    const auto poles = rough_roots(pencils.opened, plan);
    if (!zeros || !poles) return std::nullopt;
    return LoopCurve{*zeros, *poles, 0};
}

}  // namespace lowhiss
