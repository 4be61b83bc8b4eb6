// The reference tables of netlists/README.md are generated from the records of the reader.

#include <fmt/format.h>

#include "approve.hpp"
#include "lowhiss/board/fault_schema.hpp"
#include "lowhiss/board/measure_schema.hpp"
#include "lowhiss/board/schema.hpp"
#include "support/catch.hpp"

namespace lowhiss::reference_test {

template <class Owner>
std::string ends_text(const Field<Owner>& field) {
    if (!field.ends.low_slot) return "";
    return fmt::format("; or `[low, high]`, {} and {}", range_text(field.ends.low),
                       range_text(field.ends.high));
}

template <class Owner>
std::string field_rows(std::span<const Field<Owner>> fields) {
    std::string text;
    for (const Field<Owner>& field : fields) {
        text += fmt::format("| `{}`{} | {}, {}{} | {} |\n", field.key,
                            field.required ? " (required)" : "", info(field.unit).name,
                            range_text(field.range), ends_text(field), field.about);
    }
    return text;
}

std::string pins_of(const PartSchema& schema) {
    std::string text;
    for (const PinGroup& group : schema.pins) {
        text += fmt::format("{}`{}`", text.empty() ? "" : ", ", group.key);
        if (group.count > 1) text += fmt::format(" ({})", group.count);
        if (group.optional) text += " if known";
    }
    return text;
}

const std::string field_heading = "\n| key | takes | meaning |\n| --- | --- | --- |\n";

std::string parts_text() {
    std::string text = "\n| part | pins | meaning |\n| --- | --- | --- |\n";
    for (const PartSchema& schema : part_schemas()) {
        text += fmt::format("| `{}` | {} | {} |\n", schema.keyword, pins_of(schema), schema.about);
    }
    for (const PartSchema& schema : part_schemas()) {
        if (schema.fields.empty()) continue;
        text += fmt::format("\nKeys of `{}`:\n", schema.keyword) + field_heading +
                field_rows(schema.fields);
    }
    return text + "\n";
}

std::string models_text() {
    std::string text = "\nKeys of `[opamp.NAME]`:\n" + field_heading + field_rows(opamp_fields());
    text += "\nKeys of `[preamp_ic.NAME]`:\n" + field_heading + field_rows(preamp_ic_fields());
    text += "\nKeys of both:\n" + field_heading + field_rows(amplifier_fields());
    text += "\nKeys of `[bipolar.NAME]` beside `polarity`:\n" + field_heading +
            field_rows(bipolar_fields());
    text +=
        "\nKeys of `[jfet.NAME]` beside `polarity`:\n" + field_heading + field_rows(jfet_fields());
    for (const CapsuleSchema& schema : capsule_schemas()) {
        text += fmt::format("\nKeys of a capsule of `kind = \"{}\"` ({}):\n", schema.kind,
                            schema.about);
        text += field_heading + field_rows(schema.fields);
    }
    text += "\nKeys of a row of `resonances`:\n" + field_heading + field_rows(resonance_fields());
    text += "\nKeys of `[battery.NAME]`:\n" + field_heading + field_rows(battery_fields());
    return text + "\nKeys of `[feed]` beside `standard`, `plus`, `minus` and `return`:\n" +
           field_heading + field_rows(feed_fields()) + "\n";
}

std::string drift_text(const MeasureSchema& schema) {
    if (schema.drift.relative) return fmt::format("{:.4g} %", 100 * schema.drift.size);
    if (schema.unit == Unit::fraction) return fmt::format("{:.4g} %", 100 * schema.drift.size);
    if (schema.unit == Unit::polarity) return fmt::format("{:.4g}", schema.drift.size);
    return fmt::format("{:.4g} {}", schema.drift.size, schema.unit == Unit::degree ? "deg" : "dB");
}

std::string measures_text() {
    std::string text =
        "\n| measure | unit | depends on | may drift | meaning |\n| --- | --- | --- | --- | --- "
        "|\n";
    for (const MeasureSchema& schema : measure_schemas()) {
        std::string keys = schema.over_knob ? "the whole knob" : "`knob`";
        if (schema.takes_at) keys += ", `at`";
        if (schema.takes_band) keys += ", `from`, `to`";
        if (schema.takes_part) keys += ", `part`";
        if (schema.takes_source) keys += ", `source`";
        if (schema.takes_level) keys += ", `level`";
        text += fmt::format("| `{}` | {} | {} | {} | {} |\n", schema.name, info(schema.unit).name,
                            keys, drift_text(schema), schema.about);
    }
    return text + "\n";
}

std::string faults_text() {
    std::string text = "\n| fault | meaning |\n| --- | --- |\n";
    for (const FaultSchema& schema : fault_schemas()) {
        text += fmt::format("| `{}` | {} |\n", schema.name, schema.about);
    }
    return text + "\n";
}

TEST_CASE("the tables of parts, models and measures are those of the reader", "[docs][reference]") {
    const std::string page = LOWHISS_SOURCE_DIR "/netlists/README.md";
    test::check_between(page, "parts", parts_text());
    test::check_between(page, "models", models_text());
    test::check_between(page, "measures", measures_text());
    test::check_between(page, "faults", faults_text());
}

}  // namespace lowhiss::reference_test
