#pragma once

#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "support/wide.hpp"

namespace lowhiss::test {

/// A passive network of random parts between ground (node 0) and nodes 1 to `nodes`; every node is
/// connected to an earlier one. Written as a board, and as admittances in fifty digits that share
/// nothing with the engine.
class PassiveNetwork {
  public:
    explicit PassiveNetwork(unsigned seed) : random_(seed) {
        nodes_ = whole(3, 10);
        for (int node = 1; node <= nodes_; ++node) add_two_pole(whole(0, node - 1), node);
        for (int extra = whole(0, nodes_); extra > 0; --extra) {
            const int a = whole(0, nodes_ - 1);
            add_two_pole(a, whole(a + 1, nodes_));
        }
        if (whole(0, 1) == 1) add_transformer();
        if (whole(0, 1) == 1) add_potentiometer();
    }

    int nodes() const { return nodes_; }
    static std::string name(int node) { return node == 0 ? "gnd" : fmt::format("n{}", node); }

    /// Lines of [parts], impedances multiplied by `scale`.
    std::vector<std::string> part_lines(double scale = 1) const {
        std::vector<std::string> lines;
        for (std::size_t k = 0; k < parts_.size(); ++k) lines.push_back(line(k, scale));
        return lines;
    }

    /// The nodal admittance matrix at s = j omega.
    WideMatrix admittances(const WideReal& omega) const {
        const auto n = static_cast<std::size_t>(nodes_);
        WideMatrix y(n, std::vector<Wide>(n));
        for (const Part& part : parts_) std::visit(Stamp{y, Wide(0, omega)}, part);
        return y;
    }

    /// An admittance from a node to ground, added.
    static void add_to_ground(WideMatrix& y, int node, const Wide& siemens) {
        stamp(y, {node, 0}, {node, 0}, siemens);
    }

  private:
    struct Port {
        int a, b;
    };
    struct R {
        Port port;
        double ohm;
    };
    struct L {
        Port port;
        double henry, series_ohm, parallel_f;
    };
    struct C {
        Port port;
        double farad, series_ohm, leakage_ohm;
    };
    struct T {
        Port primary, secondary;
        double ratio, henry, coupling, primary_ohm, secondary_ohm;
    };
    struct P {
        int ccw, wiper, cw;
        double ohm, position, end_ohm;
    };
    using Part = std::variant<R, L, C, T, P>;

    static void stamp(WideMatrix& y, Port to, Port from, const Wide& siemens) {
        const auto add = [&](int i, int j, const Wide& value) {
            if (i == 0 || j == 0) return;
            y[static_cast<std::size_t>(i) - 1][static_cast<std::size_t>(j) - 1] += value;
        };
        add(to.a, from.a, siemens);
        add(to.b, from.b, siemens);
        add(to.a, from.b, -siemens);
        add(to.b, from.a, -siemens);
    }

    struct Stamp {
        WideMatrix& y;
        Wide s;

        void operator()(const R& r) const { stamp(y, r.port, r.port, 1 / Wide(r.ohm)); }
        void operator()(const L& l) const {
            stamp(y, l.port, l.port, 1 / (l.series_ohm + s * l.henry) + s * l.parallel_f);
        }
        void operator()(const C& c) const {
            stamp(y, c.port, c.port,
                  1 / (c.series_ohm + 1 / (s * c.farad)) + 1 / Wide(c.leakage_ohm));
        }
        /// The inverse of [[R1 + sL1, sM], [sM, R2 + sL2]].
        void operator()(const T& t) const {
            const Wide z1 = t.primary_ohm + s * t.henry;
            const Wide z2 = t.secondary_ohm + s * t.henry * t.ratio * t.ratio;
            const Wide m = s * t.henry * t.ratio * t.coupling;
            const Wide determinant = z1 * z2 - m * m;
            stamp(y, t.primary, t.primary, z2 / determinant);
            stamp(y, t.secondary, t.secondary, z1 / determinant);
            stamp(y, t.primary, t.secondary, -m / determinant);
            stamp(y, t.secondary, t.primary, -m / determinant);
        }
        void operator()(const P& p) const {
            const WideReal to_ccw = WideReal(p.end_ohm) + WideReal(p.ohm) * p.position;
            const WideReal to_cw =
                WideReal(p.end_ohm) + WideReal(p.ohm) * (1 - WideReal(p.position));
            stamp(y, {p.ccw, p.wiper}, {p.ccw, p.wiper}, Wide(1 / to_ccw));
            stamp(y, {p.wiper, p.cw}, {p.wiper, p.cw}, Wide(1 / to_cw));
        }
    };

    int whole(int from, int to) { return std::uniform_int_distribution<int>(from, to)(random_); }
    double real(double from, double to) {
        return std::uniform_real_distribution<double>(from, to)(random_);
    }
    double decades(double from, double to) {
        return std::pow(10, real(std::log10(from), std::log10(to)));
    }

    void add_two_pole(int a, int b) {
        const Port port{a, b};
        switch (whole(0, 3)) {
            case 0:
                parts_.push_back(L{port, decades(1e-4, 1), decades(1, 100), 1e-11});
                return;
            case 1:
                parts_.push_back(C{port, decades(1e-10, 1e-5), 0.5, 1e8});
                return;
            default:
                parts_.push_back(R{port, decades(10, 1e6)});
                return;
        }
    }

    /// Between two different pairs of nodes; a pair may share nodes with the other.
    void add_transformer() {
        const int a = whole(0, nodes_ - 1);
        const int c = whole(0, nodes_ - 1);
        parts_.push_back(T{{a, whole(a + 1, nodes_)},
                           {c, whole(c + 1, nodes_)},
                           real(0.2, 8),
                           decades(0.1, 10),
                           real(0.9, 0.999),
                           decades(1, 100),
                           decades(10, 1000)});
    }

    void add_potentiometer() {
        parts_.push_back(P{0, whole(1, nodes_ - 1), nodes_, 10e3, real(0, 1), 5});
    }

    std::string line(std::size_t k, double scale) const {
        return std::visit([&](const auto& part) { return written(k, part, scale); }, parts_[k]);
    }

    static std::string pins(Port p) {
        return fmt::format("[\"{}\", \"{}\"]", name(p.a), name(p.b));
    }
    static std::string written(std::size_t k, const R& r, double scale) {
        return fmt::format("R{} = {{ resistor = {}, pins = {} }}\n", k, r.ohm * scale,
                           pins(r.port));
    }
    static std::string written(std::size_t k, const L& l, double scale) {
        return fmt::format(
            "L{} = {{ inductor = {}, pins = {}, series_resistance = {}, "
            "parallel_capacitance = {} }}\n",
            k, l.henry * scale, pins(l.port), l.series_ohm * scale, l.parallel_f / scale);
    }
    static std::string written(std::size_t k, const C& c, double scale) {
        return fmt::format(
            "C{} = {{ capacitor = {}, pins = {}, series_resistance = {}, "
            "leakage_resistance = {} }}\n",
            k, c.farad / scale, pins(c.port), c.series_ohm * scale, c.leakage_ohm * scale);
    }
    static std::string written(std::size_t k, const T& t, double scale) {
        return fmt::format(
            "T{} = {{ transformer = {{ ratio = {}, primary_inductance = {}, "
            "coupling = {}, primary_resistance = {}, secondary_resistance = {} }}, "
            "primary = {}, secondary = {} }}\n",
            k, t.ratio, t.henry * scale, t.coupling, t.primary_ohm * scale, t.secondary_ohm * scale,
            pins(t.primary), pins(t.secondary));
    }
    static std::string written(std::size_t k, const P& p, double scale) {
        return fmt::format(
            "RV{} = {{ potentiometer = {}, pins = [\"{}\", \"{}\", \"{}\"], "
            "position = {}, end_resistance = {} }}\n",
            k, p.ohm * scale, name(p.ccw), name(p.wiper), name(p.cw), p.position,
            p.end_ohm * scale);
    }

    std::mt19937 random_;
    int nodes_ = 0;
    std::vector<Part> parts_;
};

}  // namespace lowhiss::test
