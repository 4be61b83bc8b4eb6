#include "lowhiss/quantity/quote.hpp"

#include <fmt/format.h>

#include <array>
#include <cstddef>

namespace lowhiss {
namespace {

constexpr std::size_t widest = 40;

constexpr unsigned byte(char c) {
    return static_cast<unsigned char>(c);
}

// The length in bytes of the visible character at the start of `text`, 0 where it is not one.
std::size_t visible_character(std::string_view text) {
    const unsigned lead = byte(text[0]);
    if (lead < 0x80) return lead >= 0x20 && lead != 0x7f ? 1 : 0;

    const std::size_t length = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : 2;
    if (lead < 0xc2 || lead > 0xf4 || text.size() < length) return 0;

    unsigned code_point = lead & (0xffU >> (length + 1));
    for (const char c : text.substr(1, length - 1)) {
        if ((byte(c) & 0xc0U) != 0x80) return 0;
        code_point = code_point << 6U | (byte(c) & 0x3fU);
    }
    constexpr auto smallest =
        std::to_array<unsigned>({0xa1, 0x800, 0x10000});  // of 2, 3 and 4 bytes; no C1 controls
    const bool surrogate = code_point >= 0xd800 && code_point <= 0xdfff;
    const bool formatting = (code_point >= 0x2000 && code_point <= 0x206f) || code_point == 0xfeff;
    const bool valid = code_point >= smallest[length - 2] && code_point <= 0x10ffff;
    return valid && !surrogate && !formatting ? length : 0;
}

}  // namespace

std::string quote(std::string_view text) {
    std::string quoted = "'";
    std::size_t columns = 0;
    while (!text.empty()) {
        const std::size_t length = visible_character(text);
        columns += length > 0 ? 1 : 4;
        if (columns > widest) {
            quoted += "…";
            break;
        }
        quoted += length > 0 ? std::string(text.substr(0, length))
                             : fmt::format("\\x{:02X}", byte(text[0]));
        text.remove_prefix(length > 0 ? length : 1);
    }
    return quoted + "'";
}

}  // namespace lowhiss
