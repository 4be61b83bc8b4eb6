#include "lowhiss/listen/loudness.hpp"

#include <cmath>
#include <numbers>

#include "lowhiss/listen/random_samples.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"

namespace lowhiss {
namespace {

/// A sine of that level re full scale in every channel, added to a meter.
void add_tone(LoudnessMeter& meter, double f_hz, double rate_hz, double level_db, double seconds,
              std::size_t channels) {
    std::vector<double> frames;
    for (double n = 0; n < seconds * rate_hz; ++n) {
        const double v =
            std::pow(10, level_db / 20) * std::sin(2 * std::numbers::pi * f_hz * n / rate_hz);
        frames.insert(frames.end(), channels, v);
    }
    meter.add(frames);
}

}  // namespace

// ITU-R BS.1770-4, Annex 1, tables 1 and 2: the coefficients that are printed for 48 kHz.
TEST_CASE("K weighting is the printed one at 48 kHz", "[loudness]") {
    const auto [first, second] = k_weighting(48000);
    CHECK_THAT(first.b0, WithinAbs(1.53512485958697, 1e-13));
    CHECK_THAT(first.b1, WithinAbs(-2.69169618940638, 1e-13));
    CHECK_THAT(first.b2, WithinAbs(1.19839281085285, 1e-13));
    CHECK_THAT(first.a1, WithinAbs(-1.69065929318241, 1e-13));
    CHECK_THAT(first.a2, WithinAbs(0.73248077421585, 1e-13));
    CHECK_THAT(second.b0, WithinAbs(1, 1e-13));
    CHECK_THAT(second.b1, WithinAbs(-2, 1e-13));
    CHECK_THAT(second.b2, WithinAbs(1, 1e-13));
    CHECK_THAT(second.a1, WithinAbs(-1.99004745483398, 1e-13));
    CHECK_THAT(second.a2, WithinAbs(0.99007225036621, 1e-13));
}

// The same, Annex 1: a sine of 0 dB FS and 997 Hz in one channel reads -3.01 LKFS. At other rates
// the bilinear transform moves that by less than 0.01 dB, and at 8 kHz, where the corner of the
// first stage is near half the rate, by 0.2 dB.
TEST_CASE("a sine of full scale reads -3.01 LUFS", "[loudness]") {
    const double rate_hz = GENERATE(48000.0, 8000.0, 44100.0, 96000.0, 192000.0);
    LoudnessMeter meter(rate_hz, 1);
    add_tone(meter, 997, rate_hz, 0, 5, 1);
    CAPTURE(rate_hz);
    CHECK_THAT(meter.integrated_lufs(), WithinAbs(-3.0103, rate_hz < 16000 ? 0.25 : 0.01));
}

// EBU Tech 3341, table 1, cases 1 to 5, stereo sines of 1 kHz, each to be within 0.1 LU (from
// memory).
TEST_CASE("loudness is gated", "[loudness]") {
    using Parts = std::vector<std::pair<double, double>>;  // dB re full scale, seconds
    const auto [parts, lufs] =
        GENERATE(std::pair(Parts{{-23, 20}}, -23.0), std::pair(Parts{{-33, 20}}, -33.0),
                 std::pair(Parts{{-36, 10}, {-23, 60}, {-36, 10}}, -23.0),
                 std::pair(Parts{{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}, -23.0),
                 std::pair(Parts{{-26, 20}, {-20, 20.1}, {-26, 20}}, -23.0));
    LoudnessMeter meter(48000, 2);
    for (const auto& [level_db, seconds] : parts)
        add_tone(meter, 1000, 48000, level_db, seconds, 2);
    CHECK_THAT(meter.integrated_lufs(), WithinAbs(lufs, 0.1));
}

TEST_CASE("silence and what is shorter than a block have no loudness", "[loudness]") {
    LoudnessMeter meter(48000, 1);
    CHECK(std::isnan(meter.integrated_lufs()));
    add_tone(meter, 1000, 48000, -20, 0.39, 1);
    CHECK(std::isnan(meter.integrated_lufs()));
    LoudnessMeter silent(48000, 1);
    silent.add(std::vector<double>(96000));
    CHECK(std::isnan(silent.integrated_lufs()));
}

// Closed form: mean 0, variance 1, and of the sum of 16 uniform numbers the kurtosis 3 - 1.2 / 16;
// of a triangle within (-1, 1) the variance 1/6. Four standard deviations of each estimate.
TEST_CASE("random samples are white, and the same everywhere", "[loudness]") {
    const RandomSamples random(3, 0);
    constexpr int count = 400'000;
    double mean = 0, square = 0, fourth = 0, next = 0, dither = 0;
    for (std::uint64_t n = 0; n < count; ++n) {
        const double x = random.white(n);
        mean += x / count;
        square += x * x / count;
        fourth += x * x * x * x / count;
        next += x * random.white(n + 1) / count;
        const double d = random.triangular(n);
        dither += d * d / count;
    }
    const double sigma = 1 / std::sqrt(double{count});
    CHECK_THAT(mean, WithinAbs(0, 4 * sigma));
    CHECK_THAT(square, WithinAbs(1, 4 * sigma * std::sqrt(2)));
    CHECK_THAT(fourth, WithinAbs(2.925, 4 * sigma * std::sqrt(96)));
    CHECK_THAT(next, WithinAbs(0, 4 * sigma));
    CHECK_THAT(dither, WithinAbs(1.0 / 6, 4 * sigma * 0.2));
}

// EBU R68 (0 dBu = -18 dBFS) and SMPTE RP155 (+4 dBu = -20 dBFS): a sine of full scale, rms.
TEST_CASE("full scale of recorders in volt", "[loudness]") {
    CHECK_THAT(v_from_dbu(18), WithinAbs(6.1528, 5e-5));
    CHECK_THAT(v_from_dbu(24), WithinAbs(12.2765, 5e-5));
}

}  // namespace lowhiss
