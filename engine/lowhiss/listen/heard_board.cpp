#include "lowhiss/listen/heard_board.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>

#include "lowhiss/analysis/relaxation.hpp"
#include "lowhiss/listen/fourier.hpp"
#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

constexpr double heard_part = 1e-6;          ///< -120 dB
constexpr double constants_needed = 13.816;  ///< ln 1e6
constexpr double least_length_s = 0.25;
constexpr double lowest_heard_hz = 20;
/// The taper's own ringing is below 1e-7 by then, even at a rate of 8 kHz.
constexpr double ahead_s = 0.05;
constexpr std::size_t largest_kernel = std::size_t{1} << 20U;
constexpr std::size_t bins_of_a_job = 4096;

void refuse_unstable(Setting& setting) {
    const Stability& stability = setting.stability();
    if (!stability.known || stability.stable) return;
    Diagnostic d;
    d.code = "unstable";
    d.subject = setting.board().name;
    d.found = "the board " + instability_text(stability) + ": it has no response to listen to";
    d.advice = "lowhiss sweep --show stability says which loop it is";
    throw Error(Error::Kind::no_unique_solution, {d});
}

/// The real circuit, a measured capsule extrapolated.
Circuit audible_circuit(Setting& setting) {
    Circuit circuit = setting.circuit();
    circuit.lowest_hz = 0;
    circuit.highest_hz = infinite;
    return circuit;
}

/// A natural frequency and what it adds to the gain where it adds most.
struct Tail {
    double constant_s = 0;
    double gain = 0;
};

/// The slowest natural frequency that adds a millionth of `gain` or more; none if the circuit is
/// too large for its natural frequencies to be found.
Tail slowest_tail(const Network& network, double gain) {
    std::vector<double> drive(static_cast<std::size_t>(network.pencil().size));
    drive[static_cast<std::size_t>(network.circuit().emf_current)] = 1;
    const Relaxation modes = relaxation(network.pencil(), network.output_selection(), {&drive, 1});
    Tail slowest;
    for (std::size_t k = 0; k < modes.s.size(); ++k) {
        const Tail tail{-1 / modes.s[k].real(),
                        std::abs(modes.residue.front()[k] / modes.s[k].real())};
        const bool heard = tail.constant_s > 0 && tail.gain > heard_part * gain;
        if (heard && tail.constant_s > slowest.constant_s) slowest = tail;
    }
    return slowest;
}

/// For each bin up to half the size, the tapered gain, and the square root of the noise density
/// over that of white noise of variance 1.
struct BoardBins {
    std::vector<Complex> gain;
    std::vector<Complex> noise;
};

BoardBins solved_bins(Setting& setting, const InsideRate& rate, std::size_t size) {
    BoardBins bins;
    bins.gain.resize(size / 2 + 1);
    bins.noise.resize(size / 2 + 1);
    const double bin_hz = rate.hz() / static_cast<double>(size);
    const auto used = std::min(size / 2, static_cast<std::size_t>(rate.stop_hz / bin_hz));
    const auto plan = setting.network().plan();
    on_all_cores((used + bins_of_a_job) / bins_of_a_job, [&](std::size_t job) {
        Network network(audible_circuit(setting), plan);
        const std::size_t first = job * bins_of_a_job;
        const std::size_t end = std::min(first + bins_of_a_job, used + 1);
        std::vector<double> f_hz;
        for (std::size_t k = first; k < end; ++k) f_hz.push_back(static_cast<double>(k) * bin_hz);
        // A capacitor without a path for direct current has no response at 0 Hz, only a limit.
        if (first == 0) f_hz.front() = bin_hz / 1000;
        const std::vector<Response> responses = network.respond_all(f_hz);
        for (std::size_t k = first; k < end; ++k) {
            const Response& response = responses[k - first];
            const double taper = rate.taper(f_hz[k - first]);
            double density = 0;
            for (const double v2_hz : response.noise_v2_hz) {
                if (std::isfinite(v2_hz)) density += v2_hz;
            }
            bins.gain[k] = response.gain * taper;
            bins.noise[k] = std::sqrt(density * rate.hz() / 2) * taper;
        }
    });
    bins.gain.front() = bins.gain.front().real();
    bins.noise.front() = 0;  // 1/f noise has no density there
    bins.gain.back() = bins.gain.back().real();
    return bins;
}

/// The real impulse response with these bins, the sample at time 0 moved to `origin`.
std::vector<double> kernel_of(const std::vector<Complex>& bins, const Fourier& fourier,
                              std::size_t origin) {
    const std::size_t size = fourier.size();
    std::vector<Complex> spectrum(size);
    std::vector<Complex> response(size);
    for (std::size_t k = 0; k <= size / 2; ++k) {
        // The inverse transform of a real signal is the transform of the conjugate, over the size.
        spectrum[k] = std::conj(bins[k]);
        if (k > 0 && k < size / 2) spectrum[size - k] = bins[k];
    }
    fourier.transform(spectrum, response);
    std::vector<double> kernel(size);
    for (std::size_t n = 0; n < size; ++n) {
        kernel[(n + origin) % size] = response[n].real() / static_cast<double>(size);
    }
    return kernel;
}

}  // namespace

HeardBoard heard_board(Setting& setting, double file_rate_hz) {
    refuse_unstable(setting);
    HeardBoard heard;
    heard.rate = inside_rate(file_rate_hz);
    Network network(audible_circuit(setting), setting.network().plan());
    const double gain = std::abs(network.respond(reference_hz).gain);
    const Tail tail = slowest_tail(network, gain);
    const double needed_s = std::max(least_length_s, ahead_s + constants_needed * tail.constant_s);
    const double needed = std::ceil(needed_s * heard.rate.hz());
    const std::size_t size = needed < static_cast<double>(largest_kernel)
                                 ? std::bit_ceil(static_cast<std::size_t>(needed))
                                 : largest_kernel;
    heard.slowest_s = tail.constant_s > 0 ? tail.constant_s : unset;
    if (needed > static_cast<double>(size)) {
        const double length_s = static_cast<double>(size) / heard.rate.hz() - ahead_s;
        // The part of r e^(s t) beyond the end of the kernel is folded to its beginning. Far above
        // the natural frequency that changes the gain by r / omega between the bins; at the bins
        // the gain is exact.
        const double slope = tail.gain / tail.constant_s / (2 * std::numbers::pi * lowest_heard_hz);
        heard.bass_error_db = db_from_ratio(slope / gain * std::exp(-length_s / tail.constant_s));
    }
    const BoardBins bins = solved_bins(setting, heard.rate, size);
    const Fourier fourier(size);
    heard.ahead = static_cast<std::size_t>(std::ceil(ahead_s * heard.rate.hz()));
    heard.signal_kernel = kernel_of(bins.gain, fourier, heard.ahead);
    heard.noise_kernel = kernel_of(bins.noise, fourier, size / 2);
    const Headroom headroom = headroom_at(setting, reference_hz);
    heard.clip_v = headroom.output_v * std::numbers::sqrt2;
    heard.clip_part = headroom.part;
    heard.slews = headroom.slews;
    return heard;
}

}  // namespace lowhiss
