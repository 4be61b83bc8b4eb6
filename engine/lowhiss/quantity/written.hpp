#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "lowhiss/quantity/decimal.hpp"

namespace lowhiss {

/// The fault of a text, as a phrase that follows its quotation: "has a comma".
struct Fault {
    std::string found;
    std::string advice{};
};

/// A parsed text. For `4.7 kohm`, `before` is "4.7 " and `suffix` is "kohm"; `4k7 ohm` has the same
/// number and suffix, "4" for `before` and "7" for `fraction`.
struct Written {
    Decimal number{};
    std::string before{};    // the text before the suffix, as typed
    std::string suffix{};    // prefix and unit
    std::string fraction{};  // the digits after the letter of an IEC 60062 code

    bool is_code() const { return !fraction.empty(); }

    /// The text with another suffix in place of this one.
    std::string with_suffix(std::string_view other) const;
};

/// The text trimmed and in ASCII: replaces Ω µ √ °, the minus sign, and the spaces that data sheets
/// use.
std::string plain_spelling(std::string_view text);

/// Splits a plain, nonempty text. Does not check whether the suffix exists.
std::variant<Written, Fault> take_apart(std::string_view plain);

}  // namespace lowhiss
