#pragma once

#include <algorithm>
#include <span>
#include <string>
#include <string_view>

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

/// The low end of a figure that may be written as a list, `[low, high]`.
template <class Owner>
struct Ends {
    double& (*low_slot)(Owner&) = nullptr;  ///< null: the figure is one value
    Range low = Range::any;
    Range high = Range::any;
    bool plus_minus = false;  ///< a single value v means [-v, v]; otherwise [v, v]
};

/// One figure that a table of the board language takes, and its place in the typed struct. Reader,
/// messages and reference tables are made from these records.
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

/// The figure in words: "5 %", or with two ends "±50 ppm/K" or "-20 % to 80 %". `print` turns a
/// double of the figure's unit into text.
template <class Owner, class Print>
std::string figure_text(const Field<Owner>& field, Owner& owner, Print print) {
    const double high = field.slot(owner);
    if (!field.ends.low_slot) return print(high);
    const double low = field.ends.low_slot(owner);
    if (low == (field.ends.plus_minus ? -high : high)) return print(high);
    if (low == -high) return "±" + print(high);
    return print(low) + " to " + print(high);
}

/// The field of that key, or null.
template <class Owner>
const Field<Owner>* find_field(std::span<const Field<Owner>> fields, std::string_view key) {
    const auto field =
        std::find_if(fields.begin(), fields.end(), [&](const auto& f) { return f.key == key; });
    return field == fields.end() ? nullptr : &*field;
}

}  // namespace lowhiss
