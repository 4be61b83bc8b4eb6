#pragma once

#include <clocale>
#include <limits>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "lowhiss/quantity/parse.hpp"

// The value of a text, NaN where it is not accepted.
inline double value_of(std::string_view text, lowhiss::Unit unit) {
    const auto result = lowhiss::parse_quantity(text, unit);
    const auto* value = std::get_if<double>(&result);
    return value ? *value : std::numeric_limits<double>::quiet_NaN();
}

inline std::vector<std::string> split(std::string_view text, std::string_view separator) {
    std::vector<std::string> pieces;
    for (auto at = text.find(separator); at != text.npos; at = text.find(separator)) {
        pieces.emplace_back(text.substr(0, at));
        text.remove_prefix(at + separator.size());
    }
    pieces.emplace_back(text);
    return pieces;
}

// A locale with a decimal comma for as long as this lives, where the machine has one.
class CommaLocale {
  public:
    CommaLocale() {
        for (const auto* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "de_DE", "German"}) {
            if (std::setlocale(LC_ALL, name) && *std::localeconv()->decimal_point == ',') {
                found_ = true;
                return;
            }
        }
    }
    ~CommaLocale() { std::setlocale(LC_ALL, "C"); }
    CommaLocale(const CommaLocale&) = delete;
    CommaLocale& operator=(const CommaLocale&) = delete;

    bool found() const { return found_; }

  private:
    bool found_ = false;
};
