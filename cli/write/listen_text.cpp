#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/listen_report.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr double worst_bass_error_db = -60;  ///< 0.01 dB of the gain

std::string line(const char* name, const std::string& text) {
    return hanging(fmt::format("  {:<11}{}", name, text), 13);
}

/// "12.3 dBu, 8.3 dBFS"
std::string level_text(double rms_v, double full_scale_dbu) {
    const double dbu = dbu_from_v(rms_v);
    if (!std::isfinite(dbu)) return "none";
    return fmt::format("{:.1f} dBu, {:.1f} dBFS", dbu, dbu - full_scale_dbu);
}

/// "none" or "1234 samples (0.3 %)"
std::string count_text(std::uint64_t count, std::uint64_t all) {
    if (count == 0) return "none";
    const double share = 100 * static_cast<double>(count) / static_cast<double>(all);
    return fmt::format("{} sample{} ({})", count, count == 1 ? "" : "s",
                       share < 0.1 ? "less than 0.1 %" : fmt::format("{:.1f} %", share));
}

std::string title_of(const ListenedBoard& board) {
    std::string title = board.label.empty() ? "" : board.label + "  ";
    title += assembly_title(board.board, board.revision, board.variant, board.capsule);
    if (!std::isnan(board.knob)) title += fmt::format(", knob {:.4g} %", 100 * board.knob);
    return title;
}

std::string amplifier_text(const ListenedBoard& board) {
    if (std::isnan(board.clip_v)) {
        return "clipping not modelled: it needs the supply pins of every amplifier to be drawn";
    }
    return fmt::format("{} {} {:.1f} dBu of output at 1 kHz; clipped: {}", board.clip_part,
                       board.slews ? "slews at" : "clips at", dbu_from_v(board.clip_v),
                       count_text(board.heard.clipped, board.heard.samples));
}

std::string board_text(const ListenedBoard& board, const ListenReport& report, bool bold) {
    const double full_scale_dbu = report.full_scale_dbu;
    std::string text = title_line(title_of(board), bold);
    if (report.heard != "noise") {
        text += line("Signal", fmt::format("{:.1f} dBu from the capsule, gain {:.1f} dB at 1 kHz",
                                           dbu_from_v(board.emf_v), board.gain_1khz_db));
        text += line("", level_text(board.heard.signal_v, full_scale_dbu) + " at the output");
    }
    if (report.heard != "signal") {
        std::string noise = level_text(board.noise_v, full_scale_dbu) + ", 20 Hz to 20 kHz";
        if (!std::isnan(board.noise_db_spl)) {
            noise += fmt::format("; as loud as {:.1f} dB SPL at the capsule, A-weighted",
                                 board.noise_db_spl);
        }
        text += line("Noise", noise);
    }
    text += line("Peak", fmt::format("{:.1f} dBFS", db_from_ratio(board.heard.peak)));
    text += line("Amplifier", amplifier_text(board));
    text +=
        line("Recorder", fmt::format("0 dBFS is a sine of {:.4g} dBu; limited: {}", full_scale_dbu,
                                     count_text(board.heard.over_full_scale, board.heard.samples)));
    if (board.bass_error_db > worst_bass_error_db) {
        text += line("Bass", fmt::format("a natural frequency decays in {}, too slowly for the "
                                         "length of the response: the gain at 20 Hz may be off by "
                                         "{:.0f} dB re the gain at 1 kHz",
                                         print_quantity(board.slowest_s, Unit::second, 2),
                                         board.bass_error_db));
    }
    if (!std::isnan(report.match_lufs)) {
        text += line("Loudness",
                     fmt::format("{:.1f} LUFS, played at {:+.1f} dB to match {:.4g} LUFS{}",
                                 board.heard.lufs, board.playback_db, report.match_lufs,
                                 report.heard == "all" ? "" : "; measured with signal and noise"));
        if (board.heard.over_in_playback > 0) {
            text += line(
                "", fmt::format("limited in playback: {}; a lower --match avoids it",
                                count_text(board.heard.over_in_playback, board.heard.samples)));
        }
    }
    return text + "\n";
}

}  // namespace

std::string listen_text(const ListenReport& report, bool bold) {
    std::string text;
    for (const ListenedBoard& board : report.boards) text += board_text(board, report, bold);
    std::string voice = fmt::format(
        "{}: {:.4g} s, {:g} Hz, {}", report.voice, report.seconds, report.rate_hz,
        report.channels == 1 ? "mono" : "stereo: each channel through a board of its own");
    if (report.heard == "noise") voice += "; its length and rate alone count";
    if (!report.level.empty()) voice += "; its rms is taken as " + report.level;
    text += line("Voice", voice);
    if (report.output.empty()) {
        return text + line("Output", "none written; to hear it: --output FILE.wav");
    }
    std::string output = report.output == "-" ? "standard output" : report.output;
    output += fmt::format(": WAV, {:g} Hz, {}", report.rate_hz, report.format);
    if (report.heard != "all") output += fmt::format("; the {} alone", report.heard);
    for (const ListenedBoard& board : report.boards) {
        if (!board.label.empty()) {
            output += fmt::format("; {} from {:.4g} s", board.label, board.start_s);
        }
    }
    text += line("Output", output);
    text += line("Caution", "begin with the volume down: noise and clipping may be loud");
    return text;
}

}  // namespace lowhiss::cli
