#include "write/supply_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "write/best_case_json.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {
namespace {

Json state_json(const SupplyState& state) {
    Json amplifiers = Json::array();
    for (const AmplifierState& a : state.amplifiers) {
        amplifiers.push_back({{"part", a.part},
                              {"supply_v", a.supply_v},
                              {"supply_min_v", a.min_v},
                              {"supply_max_v", a.max_v},
                              {"output_v", a.output_v},
                              {"output_plus_minus_v", a.output_offset_v},
                              {"in_reach", a.in_reach}});
    }
    Json transistors = Json::array();
    for (const TransistorState& t : state.transistors) {
        transistors.push_back({{"part", t.part},
                               {"region", region_text(t)},
                               {"current_a", t.amperes},
                               {"control_voltage_v", t.control_v},
                               {"voltage_v", t.across_v},
                               {"dissipation_w", t.dissipation_w}});
    }
    Json sources = Json::array();
    for (const SourceState& s : state.sources) {
        sources.push_back({{"part", s.part},
                           {"kind", source_kind_text(s.kind)},
                           {"voltage_v", s.volts},
                           {"current_a", s.amperes},
                           {"current_limit_a", s.limit_a},
                           {"capacity_ah", s.capacity_ah},
                           {"regulates", s.regulates}});
    }
    Json capacitors = Json::array();
    for (const CapacitorState& c : state.capacitors) {
        capacitors.push_back({{"part", c.part},
                              {"capacitance_f", c.capacitance_f},
                              {"voltage_v", c.volts},
                              {"rating_v", c.rating_v},
                              {"polarised", c.polarised}});
    }
    Json wipers = Json::array();
    for (const WiperState& w : state.wipers) {
        wipers.push_back({{"part", w.part}, {"current_a", w.amperes}});
    }
    return {{"amplifiers", std::move(amplifiers)},
            {"transistors", std::move(transistors)},
            {"sources", std::move(sources)},
            {"capacitors", std::move(capacitors)},
            {"wipers", std::move(wipers)},
            {"output_v", state.output_v},
            {"output_plus_minus_v", state.output_offset_v},
            {"measures",
             {{"supply_margin_v", supply_margin_v(state)},
              {"supply_current_a", supply_current_a(state)},
              {"feed_margin_a", feed_margin_a(state)}}}};
}

std::string_view end_word(BatteryLife::End end) {
    switch (end) {
        case BatteryLife::End::empty:
            return "empty";
        case BatteryLife::End::amplifier_starved:
            return "amplifier starved";
        case BatteryLife::End::regulator_out:
            return "regulator drops out";
    }
    return "";
}

Json life_json(double position, const BatteryLife& life) {
    const bool known = std::isfinite(life.hours);
    return {{"position", position},
            {"hours", life.hours},
            {"ended_by", known ? Json(end_word(life.end)) : Json()},
            {"part", text_or_null(life.part)},
            {"charge_spent", known ? Json(life.spent) : Json()}};
}

}  // namespace

std::string supply_json(const SupplyReport& report) {
    Json runs = Json::array();
    for (const SupplyRun& run : report.runs) {
        Json positions = Json::array();
        for (std::size_t end = 0; end < run.ends.size(); ++end) {
            for (std::size_t k = 0; k < run.knob.size(); ++k) {
                Json at = {{"supply", lowhiss::text_of(run.ends[end])}, {"position", run.knob[k]}};
                at.update(state_json(run.states[end][k]));
                positions.push_back(std::move(at));
            }
        }
        Json faults = Json::array();
        for (const ListedFault& placed : run.faults) {
            faults.push_back({{"part", placed.fault.part},
                              {"fault", name_of(placed.fault.kind)},
                              {"supply", lowhiss::text_of(placed.end)},
                              {"position", placed.knob},
                              {"text", placed.fault.text},
                              {"accepted", text_or_null(placed.accepted)}});
        }
        Json lives = Json::array();
        for (std::size_t k = 0; k < run.life.size(); ++k) {
            lives.push_back(life_json(run.knob[k], run.life[k]));
        }
        runs.push_back({{"variant", text_or_null(run.variant)},
                        {"capsule", text_or_null(run.capsule)},
                        {"faults", std::move(faults)},
                        {"battery_life", std::move(lives)},
                        {"assumes_ideal", assumed_json(run.assumes_ideal)},
                        {"states", std::move(positions)}});
    }
    const Json document{{"format", "lowhiss-supply/1"},
                        {"board", report.board->name},
                        {"revision", report.board->revision},
                        {"set", report.board->set},
                        {"runs", std::move(runs)}};
    return json_text(document);
}

}  // namespace lowhiss::cli
