#include "write/behaviour_json.hpp"

#include <nlohmann/json.hpp>

#include "write/best_case_json.hpp"

namespace lowhiss::cli {
namespace {

Json stability_json(const Stability& s) {
    Json loops = Json::array();
    for (std::size_t k = 0; k < s.loops.size(); ++k) {
        const LoopMargins& loop = s.loops[k];
        loops.push_back({{"part", s.loop_parts[k]},
                         {"crossover_hz", loop.crossover_hz},
                         {"phase_margin_deg", loop.phase_margin_deg},
                         {"phase_crossover_hz", loop.phase_crossover_hz},
                         {"gain_margin_db", loop.gain_margin_db}});
    }
    Json modes = Json::array();
    for (const NaturalMode& mode : s.modes) {
        modes.push_back({{"frequency_hz", mode.frequency_hz}, {"q", mode.q}});
    }
    return {{"stable", s.known || !s.stable ? Json(s.stable) : Json()},
            {"grows_hz", s.grows_hz},
            {"latches", s.latches},
            {"latch_time_s", s.latch_time_s},
            {"loops", std::move(loops)},
            {"natural_frequencies", std::move(modes)}};
}

Json headroom_json(const Behaviour& b) {
    Json list = Json::array();
    for (const Headroom& h : b.headroom) {
        list.push_back({{"frequency_hz", h.frequency_hz},
                        {"max_input_v", h.input_v},
                        {"max_output_v", h.output_v},
                        {"part", text_or_null(h.part)},
                        {"by_slew_rate", h.slews}});
    }
    return {{"at", std::move(list)},
            {"max_spl_db", b.max_spl_db},
            {"self_noise_db_spl", b.self_noise_db_spl},
            {"dynamic_range_db", b.dynamic_range_db}};
}

Json supplies_json(const Behaviour& b) {
    Json list = Json::array();
    for (const SupplyRejection& supply : b.supplies) {
        list.push_back({{"source", supply.source},
                        {"frequency_hz", supply_hz},
                        {"rejection_db", supply.rejection_db},
                        {"quiet_v", supply.quiet_v}});
    }
    return list;
}

Json ripples_json(const Behaviour& b) {
    Json list = Json::array();
    for (const RippleArrival& arrival : b.ripples) {
        list.push_back({{"name", arrival.name},
                        {"frequency_hz", arrival.frequency_hz},
                        {"source_v", arrival.rms_v},
                        {"output_v", arrival.output_v},
                        {"input_v", arrival.input_v}});
    }
    return list;
}

}  // namespace

Json behaviour_json(const Behaviour& b) {
    Json cables = Json::array();
    for (const CableStability& cable : b.cables) {
        Json entry{{"cable_f", cable.cable_f}};
        entry.update(stability_json(cable.stability));
        entry["assumes_ideal"] = assumed_json(cable.assumes_ideal);
        cables.push_back(std::move(entry));
    }
    Json faults = Json::array();
    for (const PlacedFault& placed : b.supply_faults) {
        faults.push_back({{"part", placed.fault.part},
                          {"fault", name_of(placed.fault.kind)},
                          {"text", placed.fault.text},
                          {"supply", text_of(placed.end)},
                          {"accepted", text_or_null(placed.accepted)}});
    }
    return {{"supply_faults", std::move(faults)},
            {"headroom", headroom_json(b)},
            {"stability", stability_json(b.stability)},
            {"stability_by_cable", std::move(cables)},
            {"common_mode", {{"frequency_hz", common_mode_hz}, {"rejection_db", b.common_mode_db}}},
            {"supplies", supplies_json(b)},
            {"feed_rejection_1khz_db", b.feed_rejection_db},
            {"ripples", ripples_json(b)},
            {"radio",
             {{"frequency_hz", radio_hz},
              {"rejection_db", b.radio_db},
              {"common_rejection_db", b.radio_common_db}}},
            {"output",
             {{"frequency_hz", output_hz},
              {"impedance_ohm", b.output_ohm},
              {"load_ohm", output_loads_ohm},
              {"loss_1khz_db", b.loss_db},
              {"loss_10nf_20khz_db", b.cable_loss_db},
              {"level_at_1pa_dbu", b.output_level_dbu}}},
            {"output_balance",
             {{"plus_pin_impedance_1khz_ohm", b.pins.plus_ohm},
              {"minus_pin_impedance_1khz_ohm", b.pins.minus_ohm},
              {"frequency_hz", balance_hz},
              {"rejection_db", b.balance_db}}},
            {"switch_on",
             {{"thump_v", b.switch_on.thump_v},
              {"part", text_or_null(b.switch_on.part)},
              {"settling_s", b.switch_on.settling_s},
              {"slowest_time_constant_s", b.switch_on.slowest_s}}}};
}

}  // namespace lowhiss::cli
