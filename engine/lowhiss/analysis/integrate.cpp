#include "lowhiss/analysis/integrate.hpp"

#include <algorithm>
#include <array>
#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>

namespace lowhiss {
namespace {

using Gauss = boost::math::quadrature::gauss<double, 7>;
using Kronrod = boost::math::quadrature::gauss_kronrod<double, 15>;

constexpr double relative_tolerance = 1e-7;
constexpr double panels_per_decade = 2;
constexpr std::size_t most_panels = 5000;

struct Panel {
    double from;
    double to;
    std::vector<double> integral;
    std::vector<double> error;  ///< of the watched integrals
};

/// Error estimate of the Kronrod value from its difference to the Gauss value, scaled as in routine
/// QK15 of Piessens et al., "QUADPACK", Springer 1983.
double error_estimate(double kronrod, double gauss) {
    const double size = std::abs(kronrod);
    if (size == 0) return std::abs(gauss);
    return size * std::min(1.0, std::pow(200 * std::abs(kronrod - gauss) / size, 1.5));
}

class Integrator {
  public:
    Integrator(const Densities& densities, std::size_t count, std::size_t watched)
        : densities_(densities), count_(count), watched_(watched) {}

    /// All panels between neighbouring edges, their densities computed in one call.
    std::vector<Panel> panels(std::span<const double> edge) const {
        std::vector<double> frequency_hz;
        for (std::size_t k = 1; k < edge.size(); ++k) {
            add_points(edge[k - 1], edge[k], frequency_hz);
        }
        std::vector<double> values(frequency_hz.size() * count_);
        densities_(frequency_hz, values);
        std::vector<Panel> result;
        for (std::size_t k = 1; k < edge.size(); ++k) {
            const std::size_t first = (k - 1) * points_.size();
            result.push_back(panel(edge[k - 1], edge[k],
                                   std::span(frequency_hz).subspan(first, points_.size()),
                                   std::span(values).subspan(first * count_)));
        }
        return result;
    }

  private:
    /// One abscissa on (-1, 1) with its weights. The Gauss weight is 0 at points of the Kronrod
    /// rule alone.
    struct Point {
        double abscissa;
        double kronrod;
        double gauss;
    };

    /// The library lists abscissas from zero up; every second one belongs to the Gauss rule.
    static std::vector<Point> make_points() {
        std::vector<Point> points;
        const auto& abscissa = Kronrod::abscissa();
        for (std::size_t k = 0; k < abscissa.size(); ++k) {
            const double gauss = k % 2 == 0 ? Gauss::weights()[k / 2] : 0;
            points.push_back({-abscissa[k], Kronrod::weights()[k], gauss});
            if (k > 0) points.push_back({abscissa[k], Kronrod::weights()[k], gauss});
        }
        return points;
    }

    void add_points(double from, double to, std::vector<double>& frequency_hz) const {
        for (const Point& point : points_) {
            frequency_hz.push_back(std::exp((from + to) / 2 + (to - from) / 2 * point.abscissa));
        }
    }

    Panel panel(double from, double to, std::span<const double> frequency_hz,
                std::span<const double> values) const {
        Panel result{from, to, std::vector<double>(count_), std::vector<double>(watched_)};
        std::vector<double> gauss(watched_);
        const double half = (to - from) / 2;
        for (std::size_t k = 0; k < points_.size(); ++k) {
            const double width_hz = half * frequency_hz[k];
            const auto at = values.subspan(k * count_);
            for (std::size_t i = 0; i < count_; ++i) {
                result.integral[i] += points_[k].kronrod * width_hz * at[i];
            }
            for (std::size_t i = 0; i < watched_; ++i) {
                gauss[i] += points_[k].gauss * width_hz * at[i];
            }
        }
        for (std::size_t i = 0; i < watched_; ++i) {
            result.error[i] = error_estimate(result.integral[i], gauss[i]);
        }
        return result;
    }

    std::vector<Point> points_ = make_points();
    const Densities& densities_;
    std::size_t count_;
    std::size_t watched_;
};

std::vector<double> edges(double from_hz, double to_hz, std::span<const double> breaks_hz) {
    std::vector<double> points{std::log(from_hz), std::log(to_hz)};
    for (const double f_hz : breaks_hz) {
        if (f_hz > from_hz && f_hz < to_hz) points.push_back(std::log(f_hz));
    }
    std::sort(points.begin(), points.end());
    points.erase(std::unique(points.begin(), points.end()), points.end());
    std::vector<double> result{points.front()};
    for (std::size_t k = 1; k < points.size(); ++k) {
        const double width = points[k] - points[k - 1];
        const double parts = std::max(1.0, std::ceil(width / std::log(10) * panels_per_decade));
        for (double i = 1; i <= parts; ++i) result.push_back(points[k - 1] + width * i / parts);
    }
    return result;
}

std::vector<double> sum(const std::vector<Panel>& panels, std::size_t count) {
    std::vector<double> total(count);
    for (const Panel& panel : panels) {
        for (std::size_t i = 0; i < count; ++i) total[i] += panel.integral[i];
    }
    return total;
}

/// The largest error of the panel relative to the whole integral.
double share_of_error(const Panel& panel, const std::vector<double>& total) {
    double worst = 0;
    for (std::size_t i = 0; i < panel.error.size(); ++i) {
        if (panel.error[i] > 0) worst = std::max(worst, panel.error[i] / total[i]);
    }
    return worst;
}

}  // namespace

std::vector<double> integrate_over_band(const Densities& densities, std::size_t count,
                                        std::size_t watched, double from_hz, double to_hz,
                                        std::span<const double> breaks_hz) {
    const Integrator integrator(densities, count, watched);
    const std::vector<double> edge = edges(from_hz, to_hz, breaks_hz);
    std::vector<Panel> panels = integrator.panels(edge);
    while (panels.size() < most_panels) {
        const std::vector<double> total = sum(panels, count);
        const auto worst =
            std::max_element(panels.begin(), panels.end(), [&](const Panel& a, const Panel& b) {
                return share_of_error(a, total) < share_of_error(b, total);
            });
        if (share_of_error(*worst, total) <= relative_tolerance) break;
        const std::array halved{worst->from, (worst->from + worst->to) / 2, worst->to};
        std::vector<Panel> halves = integrator.panels(halved);
        *worst = std::move(halves.front());
        panels.push_back(std::move(halves.back()));
    }
    return sum(panels, count);
}

}  // namespace lowhiss
