// The records of measures against the schemas that they rest on.

#include "lowhiss/measure/registry.hpp"

#include <algorithm>
#include <set>
#include <string_view>

#include "lowhiss/board/schema.hpp"
#include "support/catch.hpp"

namespace lowhiss::registry_test {

template <class Model>
void add_keys(std::span<const Field<Model>> fields, std::set<std::string_view>& keys) {
    for (const Field<Model>& field : fields) keys.insert(field.key);
}

TEST_CASE("each schema of a measure has one record, in the schemas' order", "[registry]") {
    const auto schemas = measure_schemas();
    const auto records = measure_records();
    REQUIRE(records.size() == schemas.size());
    for (std::size_t k = 0; k < schemas.size(); ++k) {
        CAPTURE(schemas[k].name);
        CHECK(records[k].schema == &schemas[k]);
        CHECK(records[k].name == schemas[k].name);
        CHECK(records[k].unit == schemas[k].unit);
        CHECK((records[k].over_knob != nullptr) == schemas[k].over_knob);
        CHECK((records[k].at_setting != nullptr) == !schemas[k].over_knob);
        CHECK(!(records[k].slope && records[k].slope_over_knob));
    }
}

TEST_CASE("a measure rests on figures that the models of amplifiers or transistors may have",
          "[registry]") {
    std::set<std::string_view> keys;
    add_keys(amplifier_fields(), keys);
    add_keys(opamp_fields(), keys);
    add_keys(preamp_ic_fields(), keys);
    add_keys(bipolar_fields(), keys);
    add_keys(jfet_fields(), keys);
    for (const MeasureRecord& record : measure_records()) {
        for (const std::string_view key : record.rests_on) {
            CAPTURE(record.name, key);
            CHECK(keys.contains(key));
        }
    }
    const auto rests_on = [](std::string_view measure, std::string_view key) {
        const auto list = find_measure(measure)->rests_on;
        return std::find(list.begin(), list.end(), key) != list.end();
    };
    CHECK(rests_on("phase_margin", "output_resistance"));
    CHECK(rests_on("output_impedance", "output_resistance"));
    CHECK(rests_on("common_mode_rejection", "cmrr"));
    CHECK(rests_on("supply_rejection", "psrr"));
    CHECK(rests_on("quiet_level", "psrr"));
    CHECK(rests_on("max_input", "slew_rate"));
    CHECK(rests_on("output_offset", "bias_current"));
    CHECK(rests_on("ein", "voltage_noise"));
    CHECK(rests_on("ein", "input_voltage_noise"));
    CHECK(rests_on("supply_current", "supply_current"));
    CHECK(!rests_on("gain", "output_resistance"));
}

}  // namespace lowhiss::registry_test
