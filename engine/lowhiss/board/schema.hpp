#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/feed.hpp"
#include "lowhiss/board/model.hpp"
#include "lowhiss/board/part.hpp"
#include "lowhiss/text/field.hpp"

namespace lowhiss {

/// The pins of a part under one key: a single pin is written as a text, several as a list.
struct PinGroup {
    std::string_view key;
    int count;
    bool ground_by_default = false;
    bool optional = false;  ///< the last group only
};

/// The value that the part's keyword takes.
enum class MainValue { figure, figures, state, model };

/// The range of usual values of a kind of part, in magnitude; a value outside it, other than zero,
/// gives a warning.
struct UsualValues {
    double low = 0;
    double high = infinite;
};

struct PartSchema {
    std::string_view keyword;
    std::string_view about;
    MainValue main;
    std::span<const PinGroup> pins;
    std::span<const Field<PartData>> fields;  ///< the first is the main one of MainValue::figure
    PartData blank;
    UsualValues usual{};  ///< of the main figure
};

std::span<const PartSchema> part_schemas();
const PartSchema& schema_of(const Part& part);

/// Changes the part's main value by a relative deviation. The part must be of a kind with a
/// tolerance.
void stray(Part& part, double deviation);

std::span<const Field<AmplifierFigures>> amplifier_fields();
std::span<const Field<OpAmpModel>> opamp_fields();
std::span<const Field<PreampIcModel>> preamp_ic_fields();
std::span<const Field<BipolarModel>> bipolar_fields();
std::span<const Field<JfetModel>> jfet_fields();
std::span<const Field<Resonance>> resonance_fields();
std::span<const Field<BatteryModel>> battery_fields();
std::span<const Field<Feed>> feed_fields();

struct CapsuleSchema {
    std::string_view kind;
    std::string_view about;
    std::span<const Field<Capsule>> fields;
    Capsule blank;
};
std::span<const CapsuleSchema> capsule_schemas();

}  // namespace lowhiss
