#include "lowhiss/analysis/rolloff.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "lowhiss/analysis/capsule_impedance.hpp"
#include "lowhiss/analysis/network.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/solver/dense.hpp"
#include "lowhiss/topology/netlist.hpp"

namespace lowhiss {
namespace {

/// With more causes than this, corners are not searched: each search factorises a matrix of all of
/// them at many frequencies.
constexpr std::size_t most_corners = 50;

constexpr double loss_hz = 20;
constexpr double lowest_corner_hz = 1e-3;
constexpr double half_power_db = 3.0102999566398120;
constexpr double highest_corner_hz = 20000;
constexpr int scan_per_decade = 3;

/// Changes of gain up to this do not show whether a part is in the signal path.
constexpr double negligible_db = 0.01;

/// Losses closer than this are the same.
constexpr double same_db = 1e-7;

/// A capsule whose impedance is this near to its resistance at 1 kHz is a resistance.
constexpr double resistive = 1e-12;

using Set = std::vector<Eigen::Index>;

double db_of(Complex ratio) {
    return db_from_ratio(std::abs(ratio));
}

using Weights = std::vector<std::pair<int, double>>;

/// One cause: the vectors u and w of rolloff.hpp, and its value.
struct Cause {
    int part;
    BassCause kind;
    Weights u;         ///< of the unknowns
    Weights w;         ///< of the equations
    double value = 0;  ///< in farad or henry
};

std::vector<Cause> causes_of(const Circuit& circuit, const Capsule* capsule) {
    std::vector<Cause> causes;
    for (const CapacitorPort& port : circuit.capacitors) {
        const Weights one{{port.charge, 1.0}};
        causes.push_back({port.part, BassCause::capacitor, one, one, port.farad});
    }
    for (const InductancePort& port : circuit.inductances) {
        if (!(port.henry > 0)) continue;
        const Weights one{{port.current, 1.0}};
        Cause cause{port.part, BassCause::inductor, one, one, port.henry};
        if (port.secondary_current >= 0) {
            cause.kind = BassCause::transformer;
            cause.u.emplace_back(port.secondary_current, port.ratio);
            cause.w.emplace_back(port.secondary_current, port.law_ratio);
        }
        causes.push_back(std::move(cause));
    }
    std::stable_sort(causes.begin(), causes.end(),
                     [](const Cause& a, const Cause& b) { return a.part < b.part; });
    const Complex ohm = impedance_of(capsule, reference_hz);
    const Complex bass_ohm = impedance_of(capsule, loss_hz);
    const bool plain = ohm == bass_ohm && ohm.imag() == 0;
    if (!plain) {
        const Weights one{{circuit.emf_current, 1.0}};
        causes.push_back({capsule_index(circuit), BassCause::capsule, one, one});
    }
    return causes;
}

/// The circuit at one frequency, reduced to the equations of its causes.
struct Ports {
    Complex gain;
    Eigen::VectorXcd x;        ///< u^T x of each cause, for an electromotive force of 1 V
    Eigen::VectorXcd y;        ///< w^T y: output voltage for 1 V in its equation
    Eigen::MatrixXcd inverse;  ///< u^T A^-1 w between the causes
    Eigen::VectorXcd perfect;  ///< 1/m that makes a cause perfect; infinite where nothing changes
    Eigen::VectorXcd absent;   ///< 1/m that takes it away: no capacitance, no inductance
};

/// The gain with a set of causes changed by 1/m. If some of them replace each other, as capacitors
/// in parallel do, the small matrix is singular but the equations are consistent: each of their
/// solutions gives the same gain.
Complex gain_changed(const Ports& ports, const Set& set, const Eigen::VectorXcd& inverse_m) {
    Set changed;
    for (const Eigen::Index k : set) {
        if (std::isfinite(inverse_m(k).real())) changed.push_back(k);
    }
    if (changed.empty()) return ports.gain;
    Eigen::MatrixXcd m = ports.inverse(changed, changed);
    m.diagonal() += inverse_m(changed);
    Eigen::VectorXd scale(static_cast<Eigen::Index>(changed.size()));
    for (Eigen::Index i = 0; i < scale.size(); ++i) {
        const Eigen::Index k = changed[static_cast<std::size_t>(i)];
        const double size = std::abs(inverse_m(k));
        scale(i) = 1 / std::sqrt(size > 0 ? size : std::abs(ports.inverse(k, k)));
    }
    if (!scale.allFinite()) return {unset, unset};
    m = scale.asDiagonal() * m * scale.asDiagonal();
    const Eigen::VectorXcd x = scale.asDiagonal() * ports.x(changed);
    const Eigen::VectorXcd y = scale.asDiagonal() * ports.y(changed);
    return ports.gain - (y.transpose() * dense::CompleteLu(m).solve(x)).value();
}

class RolloffFinder {
  public:
    RolloffFinder(Network& network, const Capsule* capsule)
        : network_(network),
          capsule_(capsule),
          causes_(causes_of(network.circuit(), capsule)),
          capsule_ohm_(impedance_of(capsule, reference_hz).real()) {}

    std::vector<Rolloff> find() {
        std::vector<Rolloff> result;
        if (causes_.empty()) return result;
        for (Eigen::Index k = 0; k < count(); ++k) {
            const double found_db = loss_of({k}, ports(loss_hz));
            const double loss_db = std::isfinite(found_db) ? found_db : unset;  // no signal
            const bool in_the_way = takes_bass(k, loss_db);
            result.push_back({cause(k).part, loss_db, unset, in_the_way, cause(k).kind});
            if (in_the_way) in_the_way_.push_back(k);
        }
        if (in_the_way_.size() > most_corners) return result;
        for (const Eigen::Index k : in_the_way_) {
            try {
                result[static_cast<std::size_t>(k)].corner_hz = corner(k);
            } catch (const Error& error) {
                // A frequency of the search has no solution; the corner stays unset.
                if (error.kind() != Error::Kind::no_unique_solution) throw;
            }
        }
        return result;
    }

    /// `rolloff` has the causes in this order.
    BassLoss explain(const std::vector<Rolloff>& rolloff, double frequency_hz) {
        const Ports& here = ports(frequency_hz);
        BassLoss loss;
        loss.frequency_hz = frequency_hz;
        loss.total_db = db_of(ports(reference_hz).gain / here.gain);
        Set candidates;
        for (Eigen::Index k = 0; k < count(); ++k) {
            if (rolloff[static_cast<std::size_t>(k)].in_the_way) candidates.push_back(k);
        }
        if (candidates.empty() || !(loss.total_db > 0)) return loss;
        const auto explains = [&](const Set& set) {
            return loss_of(set, here) >= loss.total_db / 2;
        };
        Set set = leading(candidates, here);
        if (!explains(set)) set = joined(candidates, here, explains);
        if (set.empty()) return loss;
        loss.together_db = loss_of(set, here);
        for (const Eigen::Index k : set) {
            loss.causes.push_back(rolloff[static_cast<std::size_t>(k)]);
            loss.most_alone_db = std::max(loss.most_alone_db, loss_of({k}, here));
        }
        return loss;
    }

  private:
    Eigen::Index count() const { return static_cast<Eigen::Index>(causes_.size()); }
    const Cause& cause(Eigen::Index k) const { return causes_[static_cast<std::size_t>(k)]; }

    Ports ports_at(double frequency_hz) {
        const Eigen::Index n = count();
        const Solution at_emf = network_.solve(frequency_hz);
        const Complex s(0, 2 * std::numbers::pi * frequency_hz);
        Ports ports{at_emf.gain,         Eigen::VectorXcd(n),
                    Eigen::VectorXcd(n), Eigen::MatrixXcd(n, n),
                    Eigen::VectorXcd(n), Eigen::VectorXcd(n)};
        const auto along = [](const Weights& weights, const std::vector<Complex>& v) {
            Complex sum = 0;
            for (const auto& [at, weight] : weights)
                sum += weight * v[static_cast<std::size_t>(at)];
            return sum;
        };
        for (Eigen::Index k = 0; k < n; ++k) {
            ports.x(k) = along(cause(k).u, at_emf.x);
            ports.y(k) = along(cause(k).w, at_emf.y);
            std::vector<Complex> drive(at_emf.x.size());
            for (const auto& [at, weight] : cause(k).w) {
                drive[static_cast<std::size_t>(at)] = weight;
            }
            const std::vector<Complex> column = network_.respond_to(drive);
            for (Eigen::Index l = 0; l < n; ++l) ports.inverse(l, k) = along(cause(l).u, column);
            set_changes(cause(k), frequency_hz, s, ports.perfect(k), ports.absent(k));
        }
        return ports;
    }

    void set_changes(const Cause& cause, double frequency_hz, Complex s, Complex& perfect,
                     Complex& absent) const {
        switch (cause.kind) {
            case BassCause::capacitor:
                perfect = cause.value;
                absent = 0;
                return;
            case BassCause::inductor:
            case BassCause::transformer:
                perfect = 0;
                absent = 1.0 / (s * cause.value);
                return;
            case BassCause::capsule: {
                const Complex ohm = impedance_of(capsule_, frequency_hz);
                const Complex more = ohm - capsule_ohm_;
                perfect = std::abs(more) > resistive * std::abs(ohm) ? 1.0 / more : infinite;
                absent = infinite;
                return;
            }
        }
    }

    const Ports& ports(double frequency_hz) {
        const auto known = scanned_.find(frequency_hz);
        if (known != scanned_.end()) return known->second;
        return scanned_.emplace(frequency_hz, ports_at(frequency_hz)).first->second;
    }

    /// The capsule's flat loading: what its replacement changes at 1 kHz.
    double flat_db(const Set& set) {
        for (const Eigen::Index k : set) {
            if (cause(k).kind != BassCause::capsule) continue;
            const Ports& middle = ports(reference_hz);
            return db_of(gain_changed(middle, {k}, middle.perfect) / middle.gain);
        }
        return 0;
    }

    /// The loss by a set of causes together.
    double loss_of(const Set& set, const Ports& here) {
        return db_of(gain_changed(here, set, here.perfect) / here.gain) - flat_db(set);
    }

    /// A capacitor or an inductor takes bass if removing it changes the gain at 1 kHz more than
    /// making it perfect does, or if making it perfect reduces the gain neither at 1 kHz nor at 20
    /// Hz.
    bool takes_bass(Eigen::Index k, double loss_db) {
        if (!std::isfinite(loss_db)) return false;
        if (cause(k).kind == BassCause::capsule) return loss_db > negligible_db;
        const Ports& middle = ports(reference_hz);
        const double perfect_db = db_of(gain_changed(middle, {k}, middle.perfect) / middle.gain);
        const double absent_db = db_of(gain_changed(middle, {k}, middle.absent) / middle.gain);
        const bool harmless = perfect_db > -negligible_db && loss_db > -negligible_db;
        return harmless || std::abs(absent_db) > std::abs(perfect_db);
    }

    /// The cause with the largest loss, and those with half as much or more. Causes whose losses
    /// differ by rounding only are in the board's order.
    Set leading(const Set& candidates, const Ports& here) {
        std::vector<std::pair<double, Eigen::Index>> ranked;
        for (const Eigen::Index k : candidates) {
            const double loss_db = loss_of({k}, here);
            if (std::isfinite(loss_db)) ranked.emplace_back(loss_db, k);
        }
        const auto rounded = [](double loss_db) { return std::round(loss_db / same_db); };
        std::stable_sort(ranked.begin(), ranked.end(), [&](const auto& a, const auto& b) {
            return rounded(a.first) > rounded(b.first);
        });
        Set set;
        for (const auto& [loss_db, k] : ranked) {
            if (!(loss_db > 0) || loss_db < ranked.front().first / 2) continue;
            set.push_back(k);
        }
        return set;
    }

    /// The pair that loses most together, and more causes until they explain enough; none if all
    /// together do not.
    template <class Explains>
    Set joined(const Set& candidates, const Ports& here, Explains explains) {
        if (candidates.size() < 2 || candidates.size() > most_corners) return {};
        Set best;
        double best_db = 0;
        const auto consider = [&](Set set) {
            const double loss_db = loss_of(set, here);
            if (!(loss_db > best_db)) return;
            best_db = loss_db;
            best = std::move(set);
        };
        for (std::size_t i = 0; i < candidates.size(); ++i) {
            for (std::size_t j = i + 1; j < candidates.size(); ++j) {
                consider({candidates[i], candidates[j]});
            }
        }
        while (!best.empty() && !explains(best)) {
            const Set before = std::exchange(best, {});  // empty unless one more loses more
            for (const Eigen::Index k : candidates) {
                if (std::find(before.begin(), before.end(), k) != before.end()) continue;
                Set more = before;
                more.push_back(k);
                consider(std::move(more));
            }
        }
        return best;
    }

    /// The loss of this cause alone minus 3.0103 dB; unset if the others, made perfect, take away
    /// all of the signal, as two capacitors in series to ground do.
    double excess_db(const Ports& at, Eigen::Index k) {
        constexpr double rounding = 1e-12;
        Set others;
        for (const Eigen::Index other : in_the_way_) {
            if (other != k) others.push_back(other);
        }
        const Complex all = gain_changed(at, in_the_way_, at.perfect);
        const Complex without = gain_changed(at, others, at.perfect);
        const double least = std::min(std::abs(all), std::abs(without));
        if (!(least > rounding * std::abs(at.gain))) return unset;
        return db_of(all / without) - flat_db({k}) - half_power_db;
    }

    /// The highest frequency at which the loss reaches 3.0103 dB, or unset.
    double corner(Eigen::Index k) {
        const double lowest = std::max(lowest_corner_hz, network_.circuit().lowest_hz);
        const double step = std::pow(10.0, -1.0 / scan_per_decade);
        double high = cause(k).kind == BassCause::capsule ? reference_hz : highest_corner_hz;
        for (double low = high * step; low >= lowest; high = low, low *= step) {
            const double excess = excess_db(ports(low), k);
            if (std::isnan(excess)) return unset;
            if (excess >= 0) return between(low, high, k);
        }
        return unset;
    }

    double between(double low_hz, double high_hz, Eigen::Index k) {
        bool lost = false;
        const auto excess = [&](double ln_hz) {
            const double db = excess_db(ports_at(std::exp(ln_hz)), k);
            lost = lost || std::isnan(db);
            return lost ? 0 : db;  // 0 ends the search
        };
        const double at_low = excess_db(ports(low_hz), k);
        if (!std::isfinite(at_low)) return unset;
        const double at_high = excess_db(ports(high_hz), k);
        if (std::isnan(at_high)) return unset;
        if (at_high >= 0) return high_hz;
        std::uintmax_t most_steps = 50;
        const auto [a, b] = boost::math::tools::toms748_solve(
            excess, std::log(low_hz), std::log(high_hz), at_low, at_high,
            [](double x, double y) { return std::abs(x - y) < 1e-9; }, most_steps);
        return lost ? unset : std::exp((a + b) / 2);
    }

    Network& network_;
    const Capsule* capsule_;
    std::vector<Cause> causes_;
    double capsule_ohm_;  ///< its resistance at 1 kHz
    Set in_the_way_;
    std::map<double, Ports> scanned_;
};

}  // namespace

std::vector<Rolloff> bass_rolloff(Network& network, const Capsule* capsule) {
    return RolloffFinder(network, capsule).find();
}

BassLoss bass_loss(Network& network, const Capsule* capsule, const std::vector<Rolloff>& rolloff,
                   double frequency_hz) {
    return RolloffFinder(network, capsule).explain(rolloff, frequency_hz);
}

}  // namespace lowhiss
