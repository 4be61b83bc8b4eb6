#include "lowhiss/impedance/file.hpp"
#include "support/catch.hpp"

#include <random>

#include "impedance/outcome.hpp"

namespace lowhiss::file_test {
using namespace lowhiss::impedance_test;

TEST_CASE("a file of another kind") {
    for (const std::string path : {"a.s2p", "a.txt", "csv", ""}) {
        check_mistakes(path, {{row1 + "\n" + row2, 0, 0, "the file name has no known ending"}});
    }
}

TEST_CASE("a resistance that rounding left below zero is zero") {
    const Outcome outcome = read("a.csv", "1,1e3,90.00000001\n2,1e3,-90.00000001\n");
    REQUIRE(outcome.points.size() == 2);
    CHECK(outcome.points[0].resistance_ohm == 0);
    CHECK_THAT(outcome.points[1].reactance_ohm, WithinAbs(-1000, 1e-9));
}

TEST_CASE("all faults of a file are reported together, in their order") {
    const Outcome outcome = read("a.csv", "0,-1,0\n5,x,y\n4,1,180\n");
    std::string places;
    for (const Diagnostic& d : outcome.faults)
        places += fmt::format("{}:{} ", d.at.line, d.at.column);
    CHECK(places == "1:1 1:3 2:3 2:5 3:5 ");

    // With a faulty header, only the frequencies can be checked.
    const Outcome header = read("a.s1p", "# Hz H R -1\n2 -5 0\n1 -5 0\n");
    CHECK(header.faults.size() == 3);
}

TEST_CASE("ten faults of a file are enough") {
    Diagnostics faults(3);
    std::string text;
    for (int i = 0; i < 100; ++i) text += "x,y,1\n";
    const auto file = std::make_shared<const Source>(Source{"a.csv", "1,2,3\n" + text});
    CHECK(read_impedance_file(file, faults).empty());
    CHECK(faults.size() == 3 + 10);
}

/// Laws that hold for any bytes.
void check_any(const std::string& path, const std::string& text) {
    const Outcome outcome = read(path, text);
    CHECK(outcome.points.empty() == !outcome.faults.empty());
    CHECK(outcome.faults.size() <= 10);
    for (const Diagnostic& fault : outcome.faults) CHECK_FALSE(to_text(fault).empty());
    double previous_hz = 0;
    for (const ImpedancePoint& point : outcome.points) {
        CHECK(point.frequency_hz > previous_hz);
        CHECK(std::isfinite(point.frequency_hz));
        CHECK(point.resistance_ohm >= 0);
        CHECK(std::isfinite(point.resistance_ohm));
        CHECK(std::isfinite(point.reactance_ohm));
        previous_hz = point.frequency_hz;
    }
}

TEST_CASE("any bytes can be read") {
    std::mt19937 random(20240607);
    const auto below = [&](std::size_t bound) { return random() % bound; };
    const std::string csv =
        "\xEF\xBB\xBF# x\r\nf,\"z\",phase_deg\r\n" + row1 + "\r\n" + row2 + "\n";
    const std::string v1 = "! x\n# kHz S DB R 600\n1 -3.5 20 ! y\n2 -4 1e1\n";
    const std::string v2 =
        "[Version] 2.0\n# Hz Y RI\n[Number of Ports] 1\n[Reference]\n50\n[Begin Information]\n"
        "[End Information]\n[Number of Frequencies] 2\n[Network Data]\n1 2 3\n2 3 4\n[End]\n";
    const std::string letters = "0123456789+-.eE,;\"#![]RSYZ \t\r\n";

    for (int round = 0; round < 3000; ++round) {
        std::string noise(below(200), '\0');
        for (char& c : noise) c = static_cast<char>(random());
        std::string likely(below(200), '\0');
        for (char& c : likely) c = letters[below(letters.size())];
        for (const std::string path : {"a.csv", "a.s1p"}) {
            check_any(path, noise);
            check_any(path, (path == "a.s1p" ? "#\n" : "") + likely);
        }
        for (std::string good : {csv, v1, v2}) {
            const std::string path = good == csv ? "a.csv" : "a.s1p";
            for (std::size_t change = below(4); change-- > 0;) {
                const std::size_t at = below(good.size());
                if (below(2) == 0)
                    good[at] = letters[below(letters.size())];
                else
                    good.erase(at, below(8));
            }
            check_any(path, good);
        }
    }
}

TEST_CASE("large files take no more than their share of time") {
    // A quadratic step anywhere would take hours.
    constexpr std::size_t size = 4'000'000;
    for (const std::string path : {"a.csv", "a.s1p"}) {
        for (const char c : {',', '"', '\n', '1', ' ', '!', '#', '[', '\x80'}) {
            check_any(path, std::string(size, c));
            check_any(path, "#\n1 1 1\n" + std::string(size, c));
        }
        std::string pairs;
        while (pairs.size() < size) pairs += "1 ";
        check_any(path, "# Hz\n" + pairs);
    }
}

}  // namespace lowhiss::file_test
