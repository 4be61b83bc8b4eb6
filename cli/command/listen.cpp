#include "command/listen.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cerrno>
#include <cmath>
#include <numbers>
#include <optional>

#include "command/named_board.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/level.hpp"
#include "lowhiss/quantity/parse.hpp"
#include "shell/log.hpp"
#include "shell/progress.hpp"
#include "sound/passage.hpp"
#include "write/listen_report.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

constexpr double pause_s = 0.5;  ///< between boards, one after the other

[[noreturn]] void refuse_option(const char* option, const std::string& text, const char* accepted) {
    throw UsageError(fmt::format("{}: '{}' is not accepted; accepted: {}", option, text, accepted));
}

constexpr const char* accepted_levels =
    "a sound pressure level in dB SPL, or the level of the capsule's electromotive force in "
    "dBu, with its unit";

/// How loud the voice is taken to be: its sound pressure, or the capsule's electromotive force.
/// Nothing if that is not asked for.
std::optional<ToneLevel> level_of(const std::string& text) {
    if (text.empty()) return {};
    const auto unit = unit_of_level(text);
    if (!unit) refuse_option("--level", text, accepted_levels);
    const bool is_sound = *unit == Unit::db_spl;
    return ToneLevel{
        option_within(text, *unit, "--level", is_sound ? -20 : -180, is_sound ? 170 : 40),
        is_sound};
}

/// Unset if it is not asked for.
double match_of(std::string text) {
    constexpr const char* accepted = "a loudness from -70 LUFS to 0 LUFS, as -23 LUFS";
    if (text.empty()) return unset;
    const std::string asked = text;
    for (const char* unit : {"LUFS", "LKFS"}) {
        if (text.ends_with(unit)) text.resize(text.size() - 4);
    }
    while (text.ends_with(' ')) text.pop_back();
    const auto parsed = parse_quantity(text, Unit::number);
    const double* value = std::get_if<double>(&parsed);
    if (!value || !(*value >= -70 && *value <= 0)) refuse_option("--match", asked, accepted);
    return *value;
}

/// The rms electromotive force that a voice of that level makes the capsule give.
double emf_of(const ToneLevel& level, Setting& setting, const std::string& capsule) {
    if (!level.is_sound) return v_from_dbu(level.db);
    const double emf_v = sound_emf_v(setting, level.db);
    if (std::isnan(emf_v)) {
        throw UsageError(fmt::format(
            "--level: the capsule {} of '{}' has no sensitivity, so its voltage at a sound "
            "pressure is not known; accepted: a level such as \"-50 dBu\", or a sensitivity in "
            "the capsule's table",
            capsule.empty() ? "(an ideal source)" : capsule, setting.board().name));
    }
    return emf_v;
}

/// A board, its assembly solved and ready to be heard.
struct Subject {
    ListenedBoard figures;
    HeardBoard board;
    std::shared_ptr<const KernelPair> kernels;
};

double rotation_of(const Board& board, const std::vector<double>& asked) {
    if (!board.knob) return 0;
    return asked.empty() ? board.knob->positions.back() : asked.front();
}

Subject subject_of(const Board& board, const std::string& variant, double rotation,
                   const std::optional<ToneLevel>& level, double rate_hz,
                   const std::string& asked_capsule) {
    const Board assembled = with_variant(board, variant_named(board, variant));
    const std::string capsule = asked_capsule.empty() ? assembled.input.capsule : asked_capsule;
    capsule_named(assembled, capsule);  // throws if the board does not know it
    Assembly assembly(board, variant, capsule);
    Setting& setting = assembly.setting(rotation);
    Subject subject;
    ListenedBoard& figures = subject.figures;
    figures.board = board.name;
    figures.revision = board.revision;
    figures.variant = variant;
    figures.capsule = capsule;
    if (board.knob) figures.knob = rotation;
    figures.set = board.set;
    if (level) figures.emf_v = emf_of(*level, setting, capsule);
    subject.board = heard_board(setting, rate_hz);
    figures.gain_1khz_db = gain_db(setting, reference_hz);
    figures.noise_v = std::sqrt(setting.noise(Band{}).power_v2);
    figures.noise_db_spl = self_noise_db_spl(setting, Band{});
    figures.clip_v = subject.board.clip_v / std::numbers::sqrt2;
    figures.clip_part = subject.board.clip_part;
    figures.slews = subject.board.slews;
    figures.slowest_s = subject.board.slowest_s;
    figures.bass_error_db = subject.board.bass_error_db;
    subject.kernels =
        std::make_shared<const KernelPair>(subject.board.signal_kernel, subject.board.noise_kernel);
    return subject;
}

/// Counts the seconds of sound of all passes together.
class Passes {
  public:
    Passes(double seconds, std::size_t passes, bool quiet)
        : seconds_(seconds),
          line_(static_cast<std::size_t>(std::ceil(seconds * static_cast<double>(passes))), quiet,
                "s of sound") {}

    void show(double done_s) { line_.show(static_cast<std::size_t>(before_s_ + done_s)); }
    void next() { before_s_ += seconds_; }

  private:
    double seconds_;
    double before_s_ = 0;
    ProgressLine line_;
};

Heard heard_of(const std::string& only) {
    return only == "signal" ? Heard::signal : only == "noise" ? Heard::noise : Heard::all;
}

/// The passage of the voice through a subject, from its level and gain.
Passage passage_of(const Subject& subject, double voice_rms, const ListenReport& report,
                   Heard heard) {
    Passage passage;
    passage.board = &subject.board;
    passage.kernels = subject.kernels;
    passage.emf_v = std::isnan(subject.figures.emf_v) ? 0 : subject.figures.emf_v / voice_rms;
    passage.full_scale_v = v_from_dbu(report.full_scale_dbu) * std::numbers::sqrt2;
    passage.playback = ratio_from_db(subject.figures.playback_db);
    passage.heard = heard;
    passage.seed = report.seed;
    return passage;
}

/// Sets the gain to the requested loudness. That is the loudness of voice and noise together, so
/// that noise alone is as loud as it is beside the voice.
void match_loudness(Subject& subject, SoundReader& voice, double voice_rms,
                    const ListenReport& report, Passes& passes) {
    const Passage passage = passage_of(subject, voice_rms, report, Heard::all);
    ListenedBoard& figures = subject.figures;
    figures.heard = hear(
        voice, passage, [](std::span<const double>) { return true; },
        [&](double done_s) { passes.show(done_s); });
    passes.next();
    if (std::isnan(figures.heard.lufs)) {
        throw UsageError(
            "--match: the result has no loudness: it is shorter than 0.4 s or below -70 LUFS; "
            "accepted: a longer voice, a higher --level or a lower --full-scale");
    }
    figures.playback_db = report.match_lufs - figures.heard.lufs;
}

void hear_subject(Subject& subject, SoundReader& voice, double voice_rms,
                  const ListenReport& report, const TakeFrames& take, Passes& passes) {
    ListenedBoard& figures = subject.figures;
    const double matched_lufs = figures.heard.lufs;
    const Passage passage = passage_of(subject, voice_rms, report, heard_of(report.heard));
    figures.heard = hear(voice, passage, take, [&](double done_s) { passes.show(done_s); });
    if (!std::isnan(report.match_lufs)) figures.heard.lufs = matched_lufs;
    passes.next();
}

/// For the figures alone.
void hear_only(std::vector<Subject>& subjects, SoundReader& voice, double voice_rms,
               const ListenReport& report, Passes& passes) {
    for (Subject& subject : subjects) {
        hear_subject(
            subject, voice, voice_rms, report, [](std::span<const double>) { return true; },
            passes);
    }
}

/// All subjects, one after the other, into a new file.
int write_heard(int file, std::vector<Subject>& subjects, SoundReader& voice, double voice_rms,
                const ListenReport& report, SampleFormat format, Passes& passes) {
    const auto pause = static_cast<std::uint64_t>(pause_s * voice.rate_hz());
    const std::uint64_t frames = subjects.size() * (voice.frames() + pause) - pause;
    SoundWriter writer(file, voice.rate_hz(), voice.channels(), frames, format, report.seed);
    int error = 0;
    for (std::size_t k = 0; k < subjects.size() && error == 0; ++k) {
        if (k > 0) error = writer.write(std::vector<double>(pause * voice.channels()));
        subjects[k].figures.start_s = static_cast<double>(k) * (voice.seconds() + pause_s);
        const TakeFrames take = [&](std::span<const double> samples) {
            if (error == 0 && signal_waits()) error = EINTR;
            if (error == 0) error = writer.write(samples);
            return error == 0;
        };
        hear_subject(subjects[k], voice, voice_rms, report, take, passes);
    }
    const int closed = writer.close();
    return error != 0 ? error : closed;
}

void check_output_name(const std::string& path) {
    for (const char* ending : {".flac", ".mp3", ".ogg", ".opus", ".aif", ".aiff", ".m4a"}) {
        if (!path.ends_with(ending)) continue;
        throw UsageError(
            fmt::format("--output: '{}' is written as WAV; accepted: a name that ends in .wav, or "
                        "- for standard output",
                        path));
    }
}

ListenReport report_of(const SoundReader& voice, const ListenOptions& options) {
    ListenReport report;
    report.voice = voice.path();
    report.kind = voice.kind();
    report.rate_hz = voice.rate_hz();
    report.seconds = voice.seconds();
    report.channels = voice.channels();
    report.inside_hz = inside_rate(voice.rate_hz()).hz();
    report.full_scale_dbu = option_within(options.full_scale, Unit::dbu, "--full-scale", -60, 60);
    report.match_lufs = match_of(options.match);
    report.heard = options.only.empty() ? "all" : options.only;
    report.level = options.level;
    report.seed = options.seed;
    report.output = options.output;
    report.format = sample_format_text(sample_format(options.format));
    return report;
}

/// Noise alone needs no level, unless its gain follows from the loudness of all.
bool needs_level(const ListenOptions& options) {
    return options.only != "noise" || !options.match.empty();
}

std::vector<Subject> subjects_of(const ListenOptions& options,
                                 const std::optional<ToneLevel>& level,
                                 const std::vector<double>& knob, double rate_hz) {
    std::vector<NamedBoard> names;
    std::vector<Board> boards;
    for (std::size_t k = 0; k + 1 < options.files.size(); ++k) {
        names.push_back(named_board(options.files[k]));
        if (names.back().variant.empty()) names.back().variant = options.variant;
        boards.push_back(load(names.back().path, options.common));
        warn_of_unused_knob(knob, boards.back(), options.common);
    }
    std::vector<std::string> inputs = *options.common.files;
    inputs.push_back(options.files.back());
    keep_apart({options.json, options.output}, inputs);
    const auto log = make_logger(options.common);
    std::vector<Subject> subjects;
    for (std::size_t k = 0; k < boards.size(); ++k) {
        subjects.push_back(timed(*log, "response of " + names[k].path, [&] {
            return subject_of(boards[k], names[k].variant, rotation_of(boards[k], knob), level,
                              rate_hz, options.capsule);
        }));
        if (boards.size() > 1) subjects.back().figures.label = board_label(k);
    }
    return subjects;
}

}  // namespace

void add_listen(CLI::App& app, ListenOptions& options) {
    CLI::App* command = app.add_subcommand(
        "listen", "a voice through the board into a recorder, with its noise and clipping, as WAV");
    command
        ->add_option("FILES", options.files,
                     "BOARD... VOICE.wav: the boards, or BOARD@VARIANT, one after the other, and "
                     "the sound file to send through each")
        ->required();
    command
        ->add_option(
            "--output", options.output,
            "write what is heard as WAV; - is standard output; without it only the figures "
            "are printed")
        ->type_name("FILE.wav");
    command
        ->add_option("--level", options.level,
                     "rms level of the voice: a sound pressure, as \"74 dB SPL\", or the "
                     "capsule's electromotive force, as \"-50 dBu\"")
        ->type_name("LEVEL");
    command
        ->add_option("--full-scale", options.full_scale,
                     "the sine that is the recorder's full scale, 0 dBFS")
        ->type_name("LEVEL")
        ->capture_default_str();
    command
        ->add_option("--match", options.match,
                     "play every board at this loudness (ITU-R BS.1770-4), as \"-23 LUFS\"")
        ->type_name("LOUDNESS");
    command->add_option("--only", options.only, "signal or noise: leave the other out")
        ->check(CLI::IsMember({"signal", "noise"}));
    command
        ->add_option("--samples", options.format,
                     "sample format of the file: 16 or 24 bits, or float")
        ->check(CLI::IsMember({"16", "24", "float"}))
        ->capture_default_str();
    command->add_option("--seed", options.seed, "seed of the noise")
        ->check(as_whole_number)
        ->capture_default_str();
    command
        ->add_option("--variant", options.variant,
                     "variant of the boards that are named without @VARIANT")
        ->type_name("NAME");
    command->add_option("--capsule", options.capsule, "use this capsule with every board")
        ->type_name("NAME");
    command
        ->add_option("--knob", options.knob,
                     "the knob position, as 0.5 or 50%; default: the last of the board's own")
        ->type_name("POSITION")
        ->delimiter(',')
        ->allow_extra_args(false);
    command->add_option("--json", options.json, "write all figures as JSON; - is standard output")
        ->type_name("FILE");
    add_set(*command, options.common);
    add_common(*command, options.common);
}

ExitStatus run_listen(const ListenOptions& options) {
    if (options.files.size() < 2) {
        throw UsageError("listen needs a board and a sound file, as: listen BOARD VOICE.wav");
    }
    refuse_shared_output({options.json, options.output});
    check_output_name(options.output);
    const std::vector<double> knob = knob_positions(options.knob);
    if (knob.size() > 1) throw UsageError("--knob: listen takes one position");
    if (options.level.empty() && needs_level(options)) {
        throw UsageError(
            "--level is missing: a sound file does not say how loud the voice was; accepted: " +
            std::string(accepted_levels));
    }
    const std::string asked_level = needs_level(options) ? options.level : "";
    const auto level = level_of(asked_level);
    SoundReader voice(options.files.back());
    ListenReport report = report_of(voice, options);
    report.level = asked_level;
    std::vector<Subject> subjects = subjects_of(options, level, knob, voice.rate_hz());
    const bool matched = !std::isnan(report.match_lufs);
    Passes passes(voice.seconds(), 1 + subjects.size() * (matched ? 2 : 1), options.common.quiet);
    const double voice_rms = rms_of(voice, [&](double done_s) { passes.show(done_s); });
    passes.next();
    if (voice_rms == 0 && level) {
        throw UsageError(
            fmt::format("'{}' is silent: no level can be given to it", options.files.back()));
    }
    if (matched) {
        for (Subject& subject : subjects) {
            match_loudness(subject, voice, voice_rms, report, passes);
        }
    }
    if (options.output.empty()) {
        hear_only(subjects, voice, voice_rms, report, passes);
    } else {
        write_seekable(options.output, [&](int file) {
            return write_heard(file, subjects, voice, voice_rms, report,
                               sample_format(options.format), passes);
        });
    }
    for (Subject& subject : subjects) report.boards.push_back(std::move(subject.figures));
    if (!options.json.empty()) write_output(options.json, listen_json(report));
    if (!options.common.quiet && options.json != "-" && options.output != "-") {
        write_output("-", listen_text(report, wants_color(options.common.color, stdout)));
    }
    return done;
}

}  // namespace lowhiss::cli
