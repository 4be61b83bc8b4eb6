#include "lowhiss/series/random_board.hpp"

#include <Random123/philox.h>
#include <fmt/format.h>

#include <algorithm>
#include <boost/crc.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <numeric>

#include "lowhiss/board/schema.hpp"

namespace lowhiss {
namespace {

/// Keeps the random numbers of one name apart by their purpose.
enum class Stream : std::uint32_t {
    part,
    group,
    temperature,
    temperature_coefficient,
    group_temperature_coefficient,
    model
};

std::uint32_t low(std::uint64_t word) {
    return static_cast<std::uint32_t>(word);
}
std::uint32_t high(std::uint64_t word) {
    return static_cast<std::uint32_t>(word >> 32U);
}

/// Uniform within (0, 1), from 53 bits.
double uniform(const BoardSeries& series, std::uint64_t index, const std::string& name,
               Stream stream) {
    boost::crc_32_type sum;
    sum.process_bytes(name.data(), name.size());
    const r123::Philox4x32::ctr_type counter{
        {low(index), high(index), sum.checksum(), static_cast<std::uint32_t>(stream)}};
    const r123::Philox4x32::key_type key{{low(series.seed), high(series.seed)}};
    const auto words = r123::Philox4x32()(counter, key);
    const std::uint64_t bits = (std::uint64_t{words[1]} << 32U | words[0]) >> 11U;
    return std::ldexp(static_cast<double>(bits) + 0.5, -53);
}

/// The ends of a tolerance in a normal distribution.
constexpr double ends_sigma = 3;

/// Inverse CDF of the deviation, as a fraction of the value.
double deviation(const Tolerance& tolerance, Distribution distribution, double u) {
    const double reach = (tolerance.high - tolerance.low) / 2;
    if (distribution == Distribution::uniform)
        return (tolerance.low + tolerance.high) / 2 + reach * (2 * u - 1);
    if (!(reach > 0)) return tolerance.low;
    // The probability of each side is in proportion to its width, so that the density has no step.
    const double below = -tolerance.low / (2 * reach);
    const double quantile_at = u < below ? u / (2 * below) : 0.5 + (u - below) / (2 * (1 - below));
    const boost::math::normal_distribution<> normal;
    const double cut = cdf(normal, -ends_sigma);  // the part cut off on each side
    const double sigmas = quantile(normal, cut + quantile_at * (1 - 2 * cut));
    return (u < below ? -tolerance.low : tolerance.high) * (sigmas / ends_sigma);
}

const Matched* group_of(const Board& board, const std::string& part) {
    for (const Matched& group : board.matched) {
        if (std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end()) {
            return &group;
        }
    }
    return nullptr;
}

std::span<const Field<OpAmpModel>> own_fields(const OpAmpModel&) {
    return opamp_fields();
}
std::span<const Field<PreampIcModel>> own_fields(const PreampIcModel&) {
    return preamp_ic_fields();
}

/// Makes one board of the series from the drawn one.
class BoardMaker {
  public:
    BoardMaker(const Board& drawn, const BoardSeries& series, std::uint64_t index)
        : drawn_(drawn), series_(series), index_(index), made_(drawn) {}

    Board make() {
        if (const auto& range = drawn_.temperature_range) {
            const double u = draw("", Stream::temperature);
            made_.temperature_k = std::lerp(range->low_k, range->high_k, u);
        }
        for (Part& part : made_.parts) make(part);
        for (Variant& variant : made_.variants) {
            for (Part& part : variant.changed) make(part);
        }
        return std::move(made_);
    }

  private:
    double draw(const std::string& name, Stream stream) const {
        return uniform(series_, index_, name, stream);
    }

    void make(Part& part) {
        spread(part);
        warm(part);
        if (auto* opamp = std::get_if<OpAmp>(&part.data)) {
            give_own_model(part.name, opamp->model, drawn_.models.opamps, made_.models.opamps);
        }
        if (auto* ic = std::get_if<PreampIc>(&part.data)) {
            give_own_model(part.name, ic->model, drawn_.models.preamp_ics, made_.models.preamp_ics);
        }
    }

    void spread(Part& part) const {
        const Tolerance tolerance = tolerance_of(part);
        if (tolerance.low == 0 && tolerance.high == 0) return;
        const double own = draw(part.name, Stream::part);
        if (const Matched* group = group_of(drawn_, part.name)) {
            const Tolerance within{-group->within, group->within};
            const double shared = draw(group->name, Stream::group);
            stray(part, deviation(tolerance, series_.distribution, shared) +
                            deviation(within, series_.distribution, own));
        } else {
            stray(part, deviation(tolerance, series_.distribution, own));
        }
    }

    /// Parts of one reel have their temperature coefficient in common.
    void warm(Part& part) const {
        const TemperatureCoefficient coefficient = temperature_coefficient_of(part);
        const double warmer_k = made_.temperature_k - drawn_.temperature_k;
        if (warmer_k == 0 || (coefficient.low_per_k == 0 && coefficient.high_per_k == 0)) return;
        const Matched* group = group_of(drawn_, part.name);
        const double u =
            draw(group ? group->name : part.name,
                 group ? Stream::group_temperature_coefficient : Stream::temperature_coefficient);
        const double middle = std::midpoint(coefficient.low_per_k, coefficient.high_per_k);
        const double reach = coefficient.high_per_k - middle;
        stray(part, warmer_k * (middle + deviation({-reach, reach}, series_.distribution, u)));
    }

    /// A copy of the model for this part alone, with figures between typical and worst.
    template <class Models>
    void give_own_model(const std::string& part, std::string& name, const Models& drawn,
                        Models& made) const {
        auto model = drawn.find(name)->second;
        if (model.worst.empty()) return;
        for (const WorstFigure& worst : model.worst) {
            const double u = draw(fmt::format("{}.{}", part, worst.key), Stream::model);
            const double share = deviation({0, 1}, series_.distribution, u);
            if (const auto* own = find_field(own_fields(model), worst.key)) {
                worsen(own->slot(model), worst, own->unit, share);
            } else if (const auto* common = find_field(amplifier_fields(), worst.key)) {
                worsen(common->slot(model.common), worst, common->unit, share);
            }
        }
        name = fmt::format("{} ({})", name, part);
        while (made.contains(name)) name += "'";
        made.emplace(name, std::move(model));
    }

    /// Data sheets have ratios in decibels, so these are interpolated in decibels.
    static void worsen(double& figure, const WorstFigure& worst, Unit unit, double share) {
        figure = unit == Unit::ratio ? figure * std::pow(worst.value / figure, share)
                                     : std::lerp(figure, worst.value, share);
    }

    const Board& drawn_;
    const BoardSeries& series_;
    std::uint64_t index_;
    Board made_;
};

}  // namespace

Board random_board(const Board& board, const BoardSeries& series, std::uint64_t index) {
    return BoardMaker(board, series, index).make();
}

}  // namespace lowhiss
