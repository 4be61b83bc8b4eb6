#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/feed.hpp"
#include "lowhiss/board/model.hpp"
#include "lowhiss/board/part.hpp"
#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

enum class Range {
    any,
    positive,
    at_least_zero,
    zero_to_one,
    inside_zero_to_one,
    above_zero_to_one,
    minus_one_to_zero,
    minus_one_to_one
};

/// "more than 0", for messages and the reference tables.
std::string_view range_text(Range range);
bool in_range(double value, Range range);

/// Of a figure that has two ends: it may be written as a list of them, `[low, high]`.
template <class Owner>
struct Ends {
    double& (*low_slot)(Owner&) = nullptr;  ///< null: the figure is one value
    Range low = Range::any;
    Range high = Range::any;
    bool plus_minus = false;  ///< one value is the high end, its negative the low; else it is both
};

/// One figure that a table of the board language takes, and where it goes in the typed struct.
/// Reader, messages and reference tables all come from these records.
template <class Owner>
struct Field {
    std::string_view key;
    Unit unit;
    Range range;
    bool required;
    double& (*slot)(Owner&);
    std::string_view about;
    Ends<Owner> ends{};
};

/// The figure in words: "5 %", and where its ends are no single value "±50 ppm/K" or
/// "-20 % to 80 %". `print` turns a double of the figure's unit into text.
template <class Owner, class Print>
std::string figure_text(const Field<Owner>& field, Owner& owner, Print print) {
    const double high = field.slot(owner);
    if (!field.ends.low_slot) return print(high);
    const double low = field.ends.low_slot(owner);
    if (low == (field.ends.plus_minus ? -high : high)) return print(high);
    if (low == -high) return "±" + print(high);
    return print(low) + " to " + print(high);
}

/// The pins of a part that stand under one key: one is a text, more are a list.
struct PinGroup {
    std::string_view key;
    int count;
    bool ground_by_default = false;
    bool optional = false;  ///< the last group only
};

/// What the part's keyword is set to.
enum class MainValue { figure, figures, state, model };

struct PartSchema {
    std::string_view keyword;
    std::string_view about;
    MainValue main;
    std::span<const PinGroup> pins;
    std::span<const Field<PartData>> fields;  ///< the first is the main one of MainValue::figure
    PartData blank;
};

std::span<const PartSchema> part_schemas();
const PartSchema& schema_of(const Part& part);

std::span<const Field<AmplifierFigures>> amplifier_fields();
std::span<const Field<OpAmpModel>> opamp_fields();
std::span<const Field<PreampIcModel>> preamp_ic_fields();
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
