#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "lowhiss/quantity/decimal.hpp"

namespace lowhiss {

/// What is wrong with a text, to be put after its quotation: "has a comma".
struct Fault {
    std::string found;
    std::string advice{};
};

/// A text taken apart. `4.7 kohm` is before "4.7 ", suffix "kohm"; `4k7 ohm` is the same number and
/// suffix with before "4", fraction "7".
struct Written {
    Decimal number{};
    std::string before{};    // what stands in front of the suffix, as typed
    std::string suffix{};    // prefix and unit
    std::string fraction{};  // the digits inside the suffix of an IEC 60062 code, after its letter

    bool is_code() const { return !fraction.empty(); }

    /// The text with another suffix in place of this one.
    std::string with_suffix(std::string_view other) const;
};

/// The text in the characters that the rest of the parser reads: without spaces around it, and with
/// ASCII spellings for Ω µ √ °, for the minus sign and for the spaces that data sheets use.
std::string plain_spelling(std::string_view text);

/// Takes a plain, nonempty text apart. Whether the suffix exists is not looked at.
std::variant<Written, Fault> take_apart(std::string_view plain);

}  // namespace lowhiss
