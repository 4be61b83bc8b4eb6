#include <cmath>
#include <nlohmann/json.hpp>

#include "lowhiss/quantity/decibel.hpp"
#include "write/json.hpp"
#include "write/listen_report.hpp"

namespace lowhiss::cli {
namespace {

/// Null for what is not there, as the level of silence.
Json finite(double value) {
    return std::isfinite(value) ? Json(value) : Json();
}

Json level_json(double rms_v, double full_scale_dbu) {
    const double dbu = dbu_from_v(rms_v);
    return {{"rms_v", finite(rms_v)}, {"dbu", finite(dbu)}, {"dbfs", finite(dbu - full_scale_dbu)}};
}

Json board_json(const ListenedBoard& board, const ListenReport& report) {
    const HeardFigures& heard = board.heard;
    Json noise = level_json(board.noise_v, report.full_scale_dbu);
    noise["db_spl_a"] = finite(board.noise_db_spl);
    return {{"label", text_or_null(board.label)},
            {"board", board.board},
            {"revision", board.revision},
            {"set", board.set},
            {"variant", text_or_null(board.variant)},
            {"capsule", text_or_null(board.capsule)},
            {"knob", finite(board.knob)},
            {"gain_1khz_db", finite(board.gain_1khz_db)},
            {"emf_v", finite(board.emf_v)},
            {"signal", level_json(heard.signal_v, report.full_scale_dbu)},
            {"noise", std::move(noise)},
            {"noise_in_file", level_json(heard.noise_v, report.full_scale_dbu)},
            {"peak_dbfs", finite(db_from_ratio(heard.peak))},
            {"amplifier",
             {{"part", text_or_null(board.clip_part)},
              {"clips_at_v", finite(board.clip_v)},
              {"slews", board.slews},
              {"clipped_samples", heard.clipped}}},
            {"recorder_clipped_samples", heard.over_full_scale},
            {"playback_clipped_samples", heard.over_in_playback},
            {"samples", heard.samples},
            {"loudness_lufs", finite(heard.lufs)},
            {"playback_gain_db", board.playback_db},
            {"start_s", board.start_s},
            {"slowest_s", finite(board.slowest_s)},
            {"bass_error_db", finite(board.bass_error_db)}};
}

}  // namespace

std::string listen_json(const ListenReport& report) {
    Json boards = Json::array();
    for (const ListenedBoard& board : report.boards) boards.push_back(board_json(board, report));
    return json_text({{"format", "lowhiss-listen/1"},
                      {"voice",
                       {{"file", report.voice},
                        {"kind", report.kind},
                        {"rate_hz", report.rate_hz},
                        {"channels", report.channels},
                        {"seconds", report.seconds}}},
                      {"level", text_or_null(report.level)},
                      {"full_scale_dbu", report.full_scale_dbu},
                      {"match_lufs", finite(report.match_lufs)},
                      {"heard", report.heard},
                      {"seed", report.seed},
                      {"inside_rate_hz", report.inside_hz},
                      {"output", text_or_null(report.output)},
                      {"sample_format", report.format},
                      {"boards", std::move(boards)}});
}

}  // namespace lowhiss::cli
