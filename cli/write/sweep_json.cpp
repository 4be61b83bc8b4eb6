#include "write/sweep_json.hpp"

#include <nlohmann/json.hpp>

#include "write/behaviour_json.hpp"
#include "write/best_case_json.hpp"
#include "write/ends_json.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

Json measures_json(const Measures& m) {
    return {{"gain_1khz_db", m.gain_1khz_db},
            {"gain_20hz_db", m.gain_20hz_db},
            {"gain_20khz_db", m.gain_20khz_db},
            {"gain_from_terminals_1khz_db", m.gain_from_terminals_1khz_db},
            {"low_corner_hz", m.low_corner_hz},
            {"high_corner_hz", m.high_corner_hz},
            {"polarity", m.polarity},
            {"input_impedance_1khz_ohm", m.input_impedance_1khz_ohm},
            {"input_impedance_ohm", m.input_impedance_ohm},
            {"output_impedance_ohm", m.output_impedance_ohm},
            {"output_noise_v", m.output_noise_v},
            {"ein_v", m.ein_v},
            {"ein_dbu", m.ein_dbu},
            {"ein_a_dbu", m.ein_a_dbu},
            {"ein_468_dbu", m.ein_468_dbu},
            {"noise_figure_db", m.noise_figure_db},
            {"capsule_effect_20hz_db", m.capsule_effect_20hz_db},
            {"capsule_effect_1khz_db", m.capsule_effect_1khz_db},
            {"capsule_effect_20khz_db", m.capsule_effect_20khz_db},
            {"capsule_noise_rise_db", m.capsule_noise_rise_db}};
}

Json noise_json(const std::vector<NoiseShare>& shares) {
    Json list = Json::array();
    for (const NoiseShare& share : shares) {
        list.push_back({{"part", share.part},
                        {"mechanism", text_of(share.mechanism)},
                        {"output_v", share.output_v},
                        {"share", share.share},
                        {"output_v_rthz", share.output_v_rthz}});
    }
    return list;
}

std::string_view cause_word(BassCause cause) {
    switch (cause) {
        case BassCause::capacitor:
            return "capacitance";
        case BassCause::inductor:
            return "inductance";
        case BassCause::transformer:
            return "primary inductance";
        case BassCause::capsule:
            return "impedance";
    }
    return "";
}

Json rolloff_json(const std::vector<PartRolloff>& parts) {
    Json list = Json::array();
    for (const auto& [part, rolloff] : parts) {
        list.push_back({{"part", part},
                        {"cause", cause_word(rolloff.cause)},
                        {"loss_20hz_db", rolloff.loss_db},
                        {"corner_alone_hz", rolloff.corner_hz},
                        {"in_signal_path", rolloff.in_the_way}});
    }
    return list;
}

/// The parts that together take half of the loss or more.
Json bass_loss_json(const PartBassLoss& loss) {
    Json parts = Json::array();
    for (const PartRolloff& cause : loss.causes) parts.push_back(cause.part);
    return {{"frequency_hz", loss.frequency_hz},
            {"loss_db", loss.total_db},
            {"parts", std::move(parts)},
            {"loss_by_parts_db", loss.together_db},
            {"most_by_one_db", loss.most_alone_db}};
}

Json loading_json(const CapsuleLoading& loading) {
    return {{"loss_db", loading.loss_db},
            {"frequency_hz", loading.at_hz},
            {"loss_1khz_db", loading.loss_1khz_db},
            {"input_impedance_ohm", loading.input_ohm},
            {"capsule_impedance_ohm", loading.capsule_ohm},
            {"wanted_input_impedance_ohm", loading.wants_ohm},
            {"alarm", !loading.suits()}};
}

Json source_json(const std::optional<SourceNoise>& source) {
    if (!source) return {};
    Json figures = Json::array();
    for (const auto& [ohm, db] : source->noise_figure_db) {
        figures.push_back({{"source_ohm", ohm}, {"noise_figure_db", db}});
    }
    return {{"input_voltage_noise_v_rthz", source->at_1khz.voltage_v_rthz},
            {"input_current_noise_a_rthz", source->at_1khz.current_a_rthz},
            {"correlation", source->at_1khz.correlation},
            {"best_source_ohm", source->best.resistance_ohm},
            {"least_noise_figure_db", source->best.noise_figure_db},
            {"noise_figures", std::move(figures)}};
}

Json distortion_json(const std::vector<Distortion>& rows) {
    Json list = Json::array();
    for (const Distortion& row : rows) {
        Json parts = Json::array();
        for (const PartDistortion& part : row.by_part) {
            parts.push_back({{"part", part.part},
                             {"second_harmonic", part.second},
                             {"third_harmonic", part.third}});
        }
        list.push_back({{"frequency_hz", row.frequency_hz},
                        {"output_v", row.output_v},
                        {"second_harmonic", row.second},
                        {"third_harmonic", row.third},
                        {"distortion", row.total},
                        {"clips", row.clips},
                        {"by_part", std::move(parts)}});
    }
    return list;
}

Json knob_json(const KnobResult& k) {
    return {{"position", k.position},
            {"resistance_ohm", k.resistance_ohm},
            {"gain_db", k.gain_db},
            {"phase_deg", k.phase_deg},
            {"group_delay_s", k.group_delay_s},
            {"gain_from_terminals_db", k.gain_from_terminals_db},
            {"capsule_effect_db", k.capsule_effect_db},
            {"input_impedance_ohm", k.input_impedance_ohm},
            {"input_impedance_deg", k.input_impedance_deg},
            {"output_noise_v_rthz", k.output_noise_v_rthz},
            {"input_noise_v_rthz", k.input_noise_v_rthz},
            {"max_input_v", k.max_input_v},
            {"common_mode_rejection_db", k.common_mode_rejection_db},
            {"output_impedance_ohm", k.output_impedance_ohm},
            {"measures", measures_json(k.measures)},
            {"assumes_ideal", assumed_json(k.assumes_ideal)},
            {"noise_by_part", noise_json(k.noise_by_part)},
            {"bass_rolloff", rolloff_json(k.rolloff)},
            {"bass_loss", bass_loss_json(k.bass_loss)},
            {"lower_corner", bass_loss_json(k.corner_loss)},
            {"capsule_loading", loading_json(k.loading)},
            {"source", source_json(k.source)},
            {"distortion", distortion_json(k.distortion)},
            {"behaviour", behaviour_json(k.behaviour)}};
}

}  // namespace

std::string sweep_json(const Sweep& sweep, const std::optional<SeriesBoard>& board) {
    Json runs = Json::array();
    for (const SweepRun& run : sweep.runs) {
        Json knob = Json::array();
        for (const KnobResult& result : run.knob) knob.push_back(knob_json(result));
        runs.push_back({{"variant", text_or_null(run.variant)},
                        {"capsule", text_or_null(run.capsule)},
                        {"frequency_hz", sweep.frequency_hz},
                        {"knob", std::move(knob)}});
    }
    Json of_series;
    if (board) {
        const bool normal = board->series.distribution == Distribution::normal;
        of_series = {{"index", board->index ? Json(*board->index) : Json()},
                     {"seed", board->series.seed},
                     {"straying", normal ? "normal" : "even"}};
        if (!board->limit.empty()) of_series["worst_of"] = board->limit;
        if (!board->ends.empty()) of_series["ends"] = ends_json(board->draws, board->ends);
    }
    const Json document{{"format", "lowhiss-sweep/1"},   {"board", sweep.board},
                        {"revision", sweep.revision},    {"set", sweep.set},
                        {"drawn", std::move(of_series)}, {"temperature_k", sweep.temperature_k},
                        {"runs", std::move(runs)}};
    return json_text(document);
}

}  // namespace lowhiss::cli
