#include <cmath>
#include <complex>
#include <numbers>

#include "lowhiss/listen/listener.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"

namespace lowhiss {
namespace {

using Sound = std::vector<double>;

/// A non-inverting amplifier of 40 dB behind a coupling capacitor, with a low-pass at 15 kHz, and
/// 12 V each side of ground.
const char* const amplifier = R"(
input        = { plus = "mic", capsule = "mine" }
output       = { plus = "out" }
capsule.mine = { kind = "resistive", resistance = "200R", sensitivity = "2 mV/Pa" }
opamp.quiet  = { open_loop_gain = "120 dB", gain_bandwidth = "50 MHz", voltage_noise = "3 nV/rtHz", voltage_noise_corner = "100 Hz", current_noise = "1 pA/rtHz", swing_from_positive_rail = "2 V", swing_from_negative_rail = "2 V" }
[parts]
VP = { voltage_source = "12 V", pins = ["vp", "gnd"] }
VM = { voltage_source = "12 V", pins = ["gnd", "vm"] }
C1 = { capacitor = "1u", pins = ["mic", "in"] }
R1 = { resistor = "10k", pins = ["in", "gnd"] }
U1 = { opamp = "quiet", plus = "in", minus = "fb", out = "amp", supply = ["vp", "vm"] }
R2 = { resistor = "10k", pins = ["amp", "fb"] }
R3 = { resistor = "101R", pins = ["fb", "gnd"] }
R4 = { resistor = "1k", pins = ["amp", "out"] }
C2 = { capacitor = "10n", pins = ["out", "gnd"] }
)";

/// A heard board, and the setting that a sweep would solve for it.
struct Ears {
    explicit Ears(double rate_hz, const std::string& text = amplifier)
        : board(test::board_from_text(text)),
          assembly(board, "", board.input.capsule),
          heard(heard_board(assembly.setting(0), rate_hz)),
          kernels(std::make_shared<const KernelPair>(heard.signal_kernel, heard.noise_kernel)) {}

    Complex gain(double f_hz) { return assembly.setting(0).at(f_hz).gain; }

    Sound listen(const Sound& emf_v, const ListenRequest& request = {Heard::signal},
                 std::size_t block = 4096) const {
        Listener listener(heard, kernels, request);
        Sound out;
        for (std::size_t k = 0; k < emf_v.size(); k += block) {
            listener.process(std::span(emf_v).subspan(k, std::min(block, emf_v.size() - k)), out);
        }
        listener.finish(out);
        return out;
    }

    Board board;
    Assembly assembly;
    HeardBoard heard;
    std::shared_ptr<const KernelPair> kernels;
};

Sound sine(double f_hz, double rate_hz, double seconds, double amplitude) {
    Sound x(static_cast<std::size_t>(rate_hz * seconds));
    for (std::size_t n = 0; n < x.size(); ++n) {
        x[n] = amplitude * std::sin(2 * std::numbers::pi * f_hz * static_cast<double>(n) / rate_hz);
    }
    return x;
}

/// The complex amplitude of a frequency in the samples from `first` on, by projection; exact for
/// whole periods.
Complex amplitude_of(const Sound& x, double f_hz, double rate_hz, std::size_t first) {
    Complex sum = 0;
    for (std::size_t n = first; n < x.size(); ++n) {
        sum +=
            x[n] * std::polar(1.0, -2 * std::numbers::pi * f_hz * static_cast<double>(n) / rate_hz);
    }
    return 2.0 * sum / static_cast<double>(x.size() - first);
}

double power_of(const Sound& x) {
    double sum = 0;
    for (const double v : x) sum += v * v;
    return sum / static_cast<double>(x.size());
}

}  // namespace

// Closed form: the steady state of a sine is the gain that sweep computes. The second half of two
// seconds has whole periods and no transient.
TEST_CASE("sines have the gain and phase of the sweep", "[listen]") {
    const double rate_hz = GENERATE(8000.0, 22050.0, 44100.0, 48000.0, 88200.0, 96000.0, 192000.0);
    Ears ears(rate_hz);
    for (const double f_hz : {20.0, 50.0, 1000.0, 3500.0, 9000.0, 15000.0, 19900.0}) {
        if (f_hz > rate_hz * 0.45) continue;
        CAPTURE(rate_hz, f_hz);
        const Sound out = ears.listen(sine(f_hz, rate_hz, 2, 1e-3));
        const Complex found =
            amplitude_of(out, f_hz, rate_hz, out.size() / 2) * Complex(0, 1) / 1e-3;
        const Complex expected = ears.gain(f_hz);
        // 0.01 dB, and the angle that is as large beside the amplitude.
        CHECK(std::abs(found / expected - 1.0) < std::pow(10, 0.01 / 20) - 1);
    }
}

// Definition: the transform of the impulse response is the response.
TEST_CASE("the transform of an impulse is the response", "[listen]") {
    const double rate_hz = GENERATE(44100.0, 96000.0);
    Ears ears(rate_hz);
    Sound impulse(static_cast<std::size_t>(rate_hz));
    const std::size_t at = impulse.size() / 4;
    impulse[at] = 1e-3;
    const Sound out = ears.listen(impulse);
    for (const double f_hz : {10.0, 16.3, 100.0, 1000.0, 7777.7, 15000.0, 19900.0}) {
        CAPTURE(rate_hz, f_hz);
        Complex sum = 0;
        for (std::size_t n = 0; n < out.size(); ++n) {
            const double t = (static_cast<double>(n) - static_cast<double>(at)) / rate_hz;
            sum += out[n] / 1e-3 * std::polar(1.0, -2 * std::numbers::pi * f_hz * t);
        }
        const Complex expected = ears.gain(f_hz);
        CHECK(std::abs(sum / expected - 1.0) < 1e-6);
    }
}

// The density that sweep integrates, in bands, about the mean of many transforms of one second. By
// the number of independent values in a band and time, 4.34 / sqrt(B T) dB is one standard
// deviation of a level (Bendat and Piersol, "Random Data", from memory); four are allowed.
TEST_CASE("noise has the spectrum and level of the board", "[listen]") {
    constexpr double rate_hz = 48000;
    constexpr double seconds = 16;
    Ears ears(rate_hz);
    const auto silence = Sound(static_cast<std::size_t>(rate_hz * seconds));
    const Sound noise = ears.listen(silence, {Heard::all, 7});
    constexpr std::size_t size = 1U << 18U;
    const Fourier fourier(size);
    std::vector<double> density(size / 2);
    const std::size_t count = noise.size() / size;
    for (std::size_t block = 0; block < count; ++block) {
        std::vector<Complex> x(size), bins(size);
        std::copy_n(noise.begin() + static_cast<std::ptrdiff_t>(block * size), size, x.begin());
        fourier.transform(x, bins);
        for (std::size_t k = 0; k < density.size(); ++k) {
            density[k] += 2 * std::norm(bins[k]) / (rate_hz * size) / static_cast<double>(count);
        }
    }
    const double bin_hz = rate_hz / size;
    for (const auto& [from_hz, to_hz] :
         {std::pair(20.0, 100.0), std::pair(100.0, 500.0), std::pair(500.0, 3000.0),
          std::pair(3000.0, 12000.0), std::pair(12000.0, 19500.0), std::pair(20.0, 19500.0)}) {
        double power = 0;
        for (std::size_t k = 0; k < density.size(); ++k) {
            const double f_hz = static_cast<double>(k) * bin_hz;
            if (f_hz >= from_hz && f_hz < to_hz) power += density[k] * bin_hz;
        }
        const double expected = ears.assembly.setting(0).noise(Band{from_hz, to_hz}).power_v2;
        const double heard_s = static_cast<double>(count * size) / rate_hz;
        CAPTURE(from_hz, to_hz);
        CHECK_THAT(10 * std::log10(power / expected),
                   WithinAbs(0, 4 * 4.34 / std::sqrt((to_hz - from_hz) * heard_s)));
    }
}

TEST_CASE("noise is there from the first sample, by seed and channel", "[listen]") {
    const Ears ears(48000);
    const Sound silence(48000);
    const Sound noise = ears.listen(silence, {Heard::noise, 1, 0});
    CHECK(noise == ears.listen(silence, {Heard::noise, 1, 0}));
    CHECK(noise == ears.listen(sine(1000, 48000, 1, 1e-3), {Heard::noise, 1, 0}));
    CHECK(noise != ears.listen(silence, {Heard::noise, 2, 0}));
    CHECK(noise != ears.listen(silence, {Heard::noise, 1, 1}));
    const auto first = Sound(noise.begin(), noise.begin() + 4800);
    // 0.1 s of some 20 kHz: 0.1 dB is one standard deviation.
    CHECK_THAT(10 * std::log10(power_of(first) / power_of(noise)), WithinAbs(0, 0.5));
}

TEST_CASE("a sound may be cut anywhere", "[listen]") {
    const double rate_hz = GENERATE(44100.0, 96000.0);
    const Ears ears(rate_hz);
    const Sound voice = sine(440, rate_hz, 1.1, 0.3);  // clipped
    const Sound whole = ears.listen(voice, {}, voice.size());
    CHECK(whole.size() == voice.size());
    CHECK(ears.listen(voice, {}, 4096) == whole);
    CHECK(ears.listen(voice, {}, 977) == whole);
    CHECK(ears.listen(voice, {}, 1) == whole);
    CHECK(ears.listen({}).empty());
    CHECK(ears.listen({1e-3}).size() == 1);
}

// Definition of a linear system; the sum of rounding in two transforms of 2^17 is below 1e-13.
TEST_CASE("below the clip the board is linear", "[listen]") {
    const Ears ears(48000);
    const Sound a = sine(300, 48000, 0.5, 1e-3);
    const Sound b = sine(7000, 48000, 0.5, 2e-3);
    Sound both(a.size());
    for (std::size_t n = 0; n < a.size(); ++n) both[n] = 3 * a[n] - 2 * b[n];
    const Sound heard_a = ears.listen(a);
    const Sound heard_b = ears.listen(b);
    const Sound heard_both = ears.listen(both);
    double worst = 0;
    for (std::size_t n = 0; n < a.size(); ++n) {
        worst = std::max(worst, std::abs(heard_both[n] - 3 * heard_a[n] + 2 * heard_b[n]));
    }
    CHECK(worst < 1e-12);
}

// The first amplifier leaves 2 V of its 12 V: 10 V of peak at its output, of which the load leaves
// what the gains say. A clipped sine of 20 dB over that is nearly a square wave of that peak.
TEST_CASE("the output clips at the headroom", "[listen]") {
    Ears ears(48000);
    CHECK(ears.heard.clip_part == "U1");
    const double limit_v = 10 / std::abs(Complex(1, 2 * std::numbers::pi * 1000 * 1e3 * 10e-9));
    CHECK_THAT(ears.heard.clip_v, WithinRel(limit_v, 1e-4));
    const double largest_emf_v = ears.heard.clip_v / std::abs(ears.gain(1000));
    Listener below(ears.heard, ears.kernels, {Heard::signal});
    Sound out;
    // Switching a sine on rings in the coupling capacitor: 5 % stay below the limit.
    below.process(sine(1000, 48000, 1, 0.95 * largest_emf_v), out);
    below.finish(out);
    CHECK(below.clipped() == 0);
    Listener above(ears.heard, ears.kernels, {Heard::signal});
    out.clear();
    above.process(sine(1000, 48000, 1, 1.1 * largest_emf_v), out);
    above.finish(out);
    CHECK(out.size() == 48000);
    // Clipped while |sin| > 1 / 1.1, 27.4 % of the time; at 48 samples a period 25 % to 38 %.
    CHECK(above.clipped() > 12000);
    CHECK(above.clipped() < 18240);
}

// Total harmonic distortion of an ideal symmetrical clip, in closed form and by a transform of the
// clipped sine: own computation, no source in print. Harmonics above 20 kHz, the four hundredth of
// 50 Hz and more, are a ten-thousandth of it.
TEST_CASE("a clipped sine has the distortion of the closed form", "[listen]") {
    const double rate_hz = 192000;
    for (const auto& [over_db, thd] :
         {std::pair(0.1, 0.0033687), std::pair(1.0, 0.0463156), std::pair(3.0, 0.133795),
          std::pair(6.0, 0.232371), std::pair(10.0, 0.321637)}) {
        Clipper clipper(inside_rate(rate_hz), 1);
        Sound out;
        clipper.process(sine(50, rate_hz, 1.2, std::pow(10, over_db / 20)), out);
        clipper.finish(out);
        // Without the beginning: ten thousand samples are not whole periods, so 20 % are left out.
        const Sound steady(out.begin() + 38400, out.begin() + 230400);
        const double first = std::norm(amplitude_of(steady, 50, rate_hz, 0)) / 2;
        const double found = std::sqrt(power_of(steady) / first - 1);
        CAPTURE(over_db);
        CHECK_THAT(found, WithinRel(thd, 2e-3));
    }
}

// A clip at the file's own rate would alias into the band, with the worst tone at -33 dB in this
// case; with eight times 48 kHz it is at -70 dB (own computation).
TEST_CASE("a clip makes no tones but harmonics", "[listen]") {
    constexpr double rate_hz = 48000;
    Clipper clipper(inside_rate(rate_hz), 1);
    Sound x = sine(5000, 96000, 2.2, std::pow(10, 6.0 / 20));
    Sound out;
    clipper.process(x, out);
    clipper.finish(out);
    const Sound steady(out.begin() + 4800, out.begin() + 4800 + 96000);
    const double first = std::abs(amplitude_of(steady, 5000, rate_hz, 0));
    double worst = 0;
    for (double f_hz = 1000; f_hz < 20000; f_hz += 1000) {
        if (std::fmod(f_hz, 5000) == 0) continue;
        worst = std::max(worst, std::abs(amplitude_of(steady, f_hz, rate_hz, 0)) / first);
    }
    CHECK(20 * std::log10(worst) < -70);
}

}  // namespace lowhiss
