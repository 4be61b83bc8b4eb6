#include "lowhiss/quantity/quote.hpp"

#include <string>

#include "support/catch.hpp"

namespace lowhiss::quote_test {

TEST_CASE("Visible text is quoted as it is", "[quantity]") {
    CHECK(quote("") == "''");
    CHECK(quote("4.7 kΩ") == "'4.7 kΩ'");
    CHECK(quote("5 nV/√Hz") == "'5 nV/√Hz'");
    CHECK(quote("\U0001F3A4") == "'\U0001F3A4'");
}

TEST_CASE("Everything else is quoted in hexadecimal", "[quantity]") {
    using namespace std::string_literals;
    CHECK(quote("a\0b\x1b[31m\x7f"s) == "'a\\x00b\\x1B[31m\\x7F'");
    CHECK(quote("\xff\xfe") == "'\\xFF\\xFE'");
    CHECK(quote("\xe2\x88") == "'\\xE2\\x88'");                    // cut short
    CHECK(quote("\xc0\xaf") == "'\\xC0\\xAF'");                    // overlong
    CHECK(quote("\xe0\x80\xaf") == "'\\xE0\\x80\\xAF'");           // overlong
    CHECK(quote("\xed\xa0\x80") == "'\\xED\\xA0\\x80'");           // surrogate
    CHECK(quote("\xf4\x90\x80\x80") == "'\\xF4\\x90\\x80\\x80'");  // beyond Unicode
    CHECK(quote("\u0085") == "'\\xC2\\x85'");                      // C1 control
    CHECK(quote("\u202e") == "'\\xE2\\x80\\xAE'");                 // right-to-left override
}

TEST_CASE("Long text is cut at 40 columns", "[quantity]") {
    CHECK(quote(std::string(40, 'x')) == "'" + std::string(40, 'x') + "'");
    CHECK(quote(std::string(41, 'x')) == "'" + std::string(40, 'x') + "…'");
    CHECK(quote(std::string(38, 'x') + "\x01") == "'" + std::string(38, 'x') + "…'");
}

}  // namespace lowhiss::quote_test
