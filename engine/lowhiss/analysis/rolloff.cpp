#include "lowhiss/analysis/rolloff.hpp"

#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <map>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/solver/dense.hpp"

namespace lowhiss {
namespace {

/// Corners are not searched for more coupling capacitors: each search decomposes a matrix of all of
/// them at many frequencies.
constexpr std::size_t most_corners = 50;

constexpr double loss_hz = 20;
constexpr double lowest_corner_hz = 1e-3;
constexpr double half_power_db = 3.0102999566398120;
constexpr double highest_corner_hz = 20000;
constexpr int scan_per_decade = 3;

/// Changes of gain up to this do not tell whether a capacitor is in the signal path.
constexpr double negligible_db = 0.01;

/// The circuit at one frequency reduced to the equations of its capacitors. Shorting a capacitor
/// removes -1/C from its equation.
struct Ports {
    Complex gain;
    Eigen::VectorXcd charge;   ///< of each capacitor for an electromotive force of 1 V
    Eigen::VectorXcd adjoint;  ///< output voltage for 1 V in its equation
    Eigen::MatrixXcd inverse;  ///< block of A^-1 between the capacitors' equations
    Eigen::VectorXcd farad;
};

Ports ports_at(Network& network, double frequency_hz) {
    const auto& capacitors = network.circuit().capacitors;
    const auto n = static_cast<Eigen::Index>(capacitors.size());
    const Solution at_emf = network.solve(frequency_hz);
    Ports ports{at_emf.gain, Eigen::VectorXcd(n), Eigen::VectorXcd(n), Eigen::MatrixXcd(n, n),
                Eigen::VectorXcd(n)};
    const auto at = [&](Eigen::Index k) {
        return static_cast<std::size_t>(capacitors[static_cast<std::size_t>(k)].charge);
    };
    for (Eigen::Index k = 0; k < n; ++k) {
        ports.charge(k) = at_emf.x[at(k)];
        ports.adjoint(k) = at_emf.y[at(k)];
        ports.farad(k) = capacitors[static_cast<std::size_t>(k)].farad;
        const auto column = network.respond_to_unit(static_cast<int>(at(k)));
        for (Eigen::Index l = 0; l < n; ++l) ports.inverse(l, k) = column[at(l)];
    }
    return ports;
}

/// The gain with the listed capacitors shorted. With capacitors in parallel the small matrix is
/// singular but the equations are consistent: the solution of least norm is right.
Complex gain_shorted(const Ports& ports, const std::vector<Eigen::Index>& shorted) {
    if (shorted.empty()) return ports.gain;
    Eigen::MatrixXcd m = ports.inverse(shorted, shorted);
    m.diagonal() += ports.farad(shorted);
    const Eigen::VectorXd scale = ports.farad(shorted).real().cwiseSqrt().cwiseInverse();
    m = scale.asDiagonal() * m * scale.asDiagonal();
    const Eigen::VectorXcd charge = scale.asDiagonal() * ports.charge(shorted);
    const Eigen::VectorXcd adjoint = scale.asDiagonal() * ports.adjoint(shorted);
    return ports.gain - (adjoint.transpose() * dense::least_norm_solution(m, charge)).value();
}

/// The gain with one capacitor removed: its charge is zero.
Complex gain_opened(const Ports& ports, Eigen::Index k) {
    return ports.gain - ports.adjoint(k) * ports.charge(k) / ports.inverse(k, k);
}

double db_of(Complex ratio) {
    return db_from_ratio(std::abs(ratio));
}

class RolloffFinder {
  public:
    explicit RolloffFinder(Network& network) : network_(network) {}

    std::vector<Rolloff> find() {
        const auto& capacitors = network_.circuit().capacitors;
        std::vector<Rolloff> result;
        if (capacitors.empty()) return result;
        const Ports at_20 = ports_at(network_, loss_hz);
        const Ports at_1k = ports_at(network_, reference_hz);
        for (Eigen::Index k = 0; k < at_20.charge.size(); ++k) {
            const CapacitorPort& port = capacitors[static_cast<std::size_t>(k)];
            const double found_db = db_of(gain_shorted(at_20, {k}) / at_20.gain);
            const double loss_db = std::isfinite(found_db) ? found_db : unset;  // no signal
            const bool in_the_way = passes_signal(at_1k, k, loss_db);
            result.push_back({port.part, loss_db, unset, in_the_way});
            if (in_the_way) coupling_.push_back(k);
        }
        if (coupling_.size() > most_corners) return result;
        for (const Eigen::Index k : coupling_) {
            try {
                result[static_cast<std::size_t>(k)].corner_hz = corner(k);
            } catch (const Error& error) {
                // A frequency of the search has no solution; the corner stays unset.
                if (error.kind() != Error::Kind::no_unique_solution) throw;
            }
        }
        return result;
    }

  private:
    /// A capacitor is in the signal path if at 1 kHz removing it changes the gain more than
    /// shorting it, or if shorting it reduces the gain neither at 1 kHz nor at 20 Hz.
    static bool passes_signal(const Ports& at_1k, Eigen::Index k, double loss_db) {
        const double shorted_db = db_of(gain_shorted(at_1k, {k}) / at_1k.gain);
        const double opened_db = db_of(gain_opened(at_1k, k) / at_1k.gain);
        const bool harmless = shorted_db > -negligible_db && loss_db > -negligible_db;
        return harmless || std::abs(opened_db) > std::abs(shorted_db);
    }

    const Ports& ports(double frequency_hz) {
        const auto known = scanned_.find(frequency_hz);
        if (known != scanned_.end()) return known->second;
        return scanned_.emplace(frequency_hz, ports_at(network_, frequency_hz)).first->second;
    }

    /// The loss of this capacitor alone minus 3.0103 dB.
    double excess_db(const Ports& at, Eigen::Index k) const {
        std::vector<Eigen::Index> others;
        for (const Eigen::Index other : coupling_) {
            if (other != k) others.push_back(other);
        }
        return db_of(gain_shorted(at, coupling_) / gain_shorted(at, others)) - half_power_db;
    }

    /// The highest frequency at which the loss reaches 3.0103 dB, or unset.
    double corner(Eigen::Index k) {
        const double lowest = std::max(lowest_corner_hz, network_.circuit().lowest_hz);
        const double step = std::pow(10.0, -1.0 / scan_per_decade);
        double high = highest_corner_hz;
        for (double low = high * step; low >= lowest; high = low, low *= step) {
            if (excess_db(ports(low), k) >= 0) return between(low, high, k);
        }
        return unset;
    }

    double between(double low_hz, double high_hz, Eigen::Index k) {
        const auto excess = [&](double ln_hz) {
            return excess_db(ports_at(network_, std::exp(ln_hz)), k);
        };
        const double at_low = excess_db(ports(low_hz), k);
        if (!std::isfinite(at_low)) return unset;
        const double at_high = excess_db(ports(high_hz), k);
        if (at_high >= 0) return high_hz;
        std::uintmax_t most_steps = 50;
        const auto [a, b] = boost::math::tools::toms748_solve(
            excess, std::log(low_hz), std::log(high_hz), at_low, at_high,
            [](double x, double y) { return std::abs(x - y) < 1e-9; }, most_steps);
        return std::exp((a + b) / 2);
    }

    Network& network_;
    std::vector<Eigen::Index> coupling_;
    std::map<double, Ports> scanned_;
};

}  // namespace

std::vector<Rolloff> bass_rolloff(Network& network) {
    return RolloffFinder(network).find();
}

}  // namespace lowhiss
