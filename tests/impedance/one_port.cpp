#include "impedance/outcome.hpp"

namespace lowhiss::one_port_test {
using namespace lowhiss::impedance_test;

/// A pair of numbers in the format that the option line names.
std::string pair(std::string_view format, Complex value) {
    if (format == "RI") return fmt::format("{:.17g} {:.17g}", value.real(), value.imag());
    const double size = std::abs(value);
    return fmt::format("{:.17g} {:.17g}", format == "DB" ? 20 * std::log10(size) : size,
                       degrees(value));
}

/// Z as S, Y or Z over a reference; normalised in version 1 only.
Complex parameter(char kind, int version, double reference_ohm, Complex z) {
    const double scale_ohm = version == 1 ? reference_ohm : 1;
    if (kind == 'Z') return z / scale_ohm;
    if (kind == 'Y') return scale_ohm / z;
    return (z - reference_ohm) / (z + reference_ohm);
}

TEST_CASE("an impedance as a one-port S-parameter file") {
    for (const int version : {1, 2}) {
        for (const char kind : {'S', 'Y', 'Z'}) {
            for (const std::string format : {"MA", "DB", "RI"}) {
                for (const double reference_ohm : {50.0, 600.0}) {
                    const auto value = [&](Complex z) {
                        return pair(format, parameter(kind, version, reference_ohm, z));
                    };
                    std::string text =
                        fmt::format("! capsule\n# kHz {} {} R {}\n", kind, format, reference_ohm);
                    if (version == 2) {
                        text = "[Version] 2.0\n" + text +
                               "[Number of Ports] 1\n[Number of Frequencies] 2\n[Network Data]\n";
                    }
                    text += "1 " + value(z1) + " ! first\n2.0 " + value(z2) + "\n";
                    if (version == 2) text += "[End]\nnothing more is read";
                    CAPTURE(text);
                    check_good(read("a.s1p", text));
                }
            }
        }
    }
}

TEST_CASE("details of one-port S-parameter files") {
    const std::string rows = "1000 30 40\n2000 60 -80\n";
    const auto version_2 = [&](const std::string& header) {
        return read("a.s1p", "[Version] 2.0\n# Hz Z RI\n" + header + "[Network Data]\n" + rows);
    };
    SECTION("options in any order and case, tabs, CRLF, byte order mark") {
        check_good(
            read("B.S1P", "\xEF\xBB\xBF#ri r 1.0\tz hZ ! x\r\n\r\n\t1000\t30 40!x\r\n2e3 60 -80"));
    }
    SECTION("only the first option line counts") {
        check_good(read("a.s1p", "# Hz Z RI R 1\n# MHz S DB R 75 H\n" + rows));
    }
    SECTION("the defaults are GHz S MA R 50") {
        const std::string data =
            fmt::format("1e-6 {}\n2e-6 {}\n", pair("MA", parameter('S', 1, 50, z1)),
                        pair("MA", parameter('S', 1, 50, z2)));
        check_good(read("a.s1p", "#\n" + data));
    }
    SECTION("[Reference] replaces R") {
        const std::string data =
            fmt::format("[Network Data]\n1 {}\n2 {}\n", pair("RI", parameter('S', 2, 75, z1)),
                        pair("RI", parameter('S', 2, 75, z2)));
        const std::string header = "[Version] 2.1\n# kHz S RI R 50\n";
        check_good(read("a.s1p", header + "[Reference] 75\n" + data));
        check_good(read("a.s1p", header + "[Reference] ! on the next line\n\n75.0\n" + data));
    }
    SECTION("keywords that change nothing") {
        check_good(version_2("[MATRIX format] Full\n"));
        check_good(version_2("[Begin Information]\n[Maker] x\n# 1 2\n1 2\n[End Information]\n"));
    }
}

TEST_CASE("the normalisation is that of the specification's own examples") {
    // S-parameter files as the IBIS Open Forum specifies them, version 2.0 (24 April 2009):
    // examples 9 (version 1, normalised to 75 ohm) and 10 (version 2, the same in ohms).
    const Outcome normalised = read("a.s1p", "# MHz Z MA R 75\n100 0.99 -4\n200 0.80 -22\n");
    const Outcome ohms = read("a.s1p",
                              "[Version] 2.0\n# MHz Z MA\n[Number of Ports] 1\n"
                              "[Number of Frequencies] 2\n[Network Data]\n"
                              "100 74.25 -4\n200 60 -22\n[End]");
    REQUIRE(normalised.points.size() == 2);
    REQUIRE(ohms.points.size() == 2);
    for (std::size_t i = 0; i < 2; ++i) {
        const ImpedancePoint& a = normalised.points[i];
        const ImpedancePoint& b = ohms.points[i];
        CHECK(a.frequency_hz == b.frequency_hz);
        CHECK_THAT(a.resistance_ohm, WithinAbs(b.resistance_ohm, 1e-13));
        CHECK_THAT(a.reactance_ohm, WithinAbs(b.reactance_ohm, 1e-13));
    }
    CHECK_THAT(ohms.points[0].resistance_ohm,
               WithinAbs(74.25 * std::cos(std::numbers::pi / 45), 1e-13));
}

TEST_CASE("mistakes in a one-port S-parameter file") {
    const std::string v1 = "# Hz Z RI R 1\n1 5 0\n";
    const std::string s = "# Hz S RI R 50\n1 0.5 0\n";
    const std::string v2 = "[Version] 2.0\n# Hz Z RI\n";
    const std::string data = "[Network Data]\n1 5 0\n2 5 0\n";
    const std::string bridge = "measure with an impedance bridge and write Z";
    check_mistakes(
        "a.s1p",
        {
            {"! nothing", 0, 0, "the file has no points"},
            {v1, 0, 0, "the file has only one point"},
            {"1 5 0\n2 5 0", 1, 1, "no option line before the data"},
            {v1 + "2 5,0 0", 3, 3, "'5,0' is not a number", "write the decimal mark as a point"},
            {v1 + "2 nan 0", 3, 3, "'nan' is not a finite number"},
            {v1 + " 0 5 0", 3, 2, "'0' is not a frequency above zero"},
            {"# GHz Z RI\n1 5 0\n1e300 5 0", 3, 1, "'1e300' is not a frequency above zero"},
            {v1 + "0.5 5 0", 3, 1, "'0.5' is below the previous frequency", sorted},
            {v1 + "1.0 5 0", 3, 1, "the frequency '1.0' is given twice",
             "keep one of the two lines"},
            {v1 + "2 5", 3, 3, "the line has 2 columns"},
            {v1 + "2 1 0 1 0 1 0 1 0", 3, 7, "the line has 9 columns"},
            {v1 + "2 -5 0", 3, 3, "the resistance is negative: -5 ohm", passive},
            {s + "2 1.5 0", 3, 3, "the resistance is negative: -250 ohm", passive},
            {s + "2 1 1e-7", 3, 3, "S is too close to 1 to determine an impedance", bridge},
            {"# Hz Y RI\n1 1 0\n2 0 0", 3, 3, "the impedance is not finite",
             "leave this point out"},
            {"# Hz Z DB\n1 1 0\n2 1e5 0", 3, 3, "the impedance is not finite",
             "leave this point out"},
            {"# Hz Z RI\n1 1 0\n2 0 1e308", 3, 3, "the impedance is not finite",
             "leave this point out"},
            {"# Hz Z MA\n1 1 0\n2 -1 0", 3, 3, "the magnitude '-1' is negative"},
            {"# Hz H RI\n1 -5 0\n2 5 0", 1, 6, "'H' parameters describe a two-port"},
            {"# Hz g RI\n1 -5 0\n2 5 0", 1, 6, "'g' parameters describe a two-port"},
            {"# THz S\n1 0 0\n2 0 0", 1, 3, "'THz' is not an option of a one-port file"},
            {"# Hz S R 50 75\n1 0 0\n2 0 0", 1, 13, "'75' is not an option of a one-port file"},
            {"# Hz S R\n1 0 0\n2 0 0", 1, 8, "'R' is not an option of a one-port file"},
            {"# Hz S R 5O\n1 0 0\n2 0 0", 1, 10, "'5O' is not a number"},
            {"# Hz S R 0\n1 0 0\n2 0 0", 1, 10, "the reference resistance '0' is not above zero"},
            {"# Hz S\n[Number of Ports] 1\n1 0 0\n2 0 0", 2, 1,
             "'[Number of Ports]' in a file of version 1",
             "put [Version] 2.0 first, or remove the keywords"},
            {v1 + "[Version] 2.0\n2 5 0", 3, 1, "'[Version]' in a file of version 1",
             "put [Version] 2.0 first, or remove the keywords"},
            {"[Version] 1.1\n# Hz S\n" + data, 1, 11, "'1.1' is not a known version",
             "for version 1, remove the keywords"},
            {v2 + "[Number of Ports] 2\n" + data, 3, 19, "'2' ports",
             "export the reflection of one port as .s1p"},
            {v2 + "[Number of Ports]\n" + data, 3, 1, "'[Number of Ports]' is not a number"},
            {v2 + "[Number of Frequencies] 3\n" + data, 3, 25,
             "[Number of Frequencies] is 3, but the file has 2", "check that the file is complete"},
            {v2 + "[Reference] 50 75\n" + data, 3, 1, "'[Reference]' is not a number"},
            {v2 + "[Reference]\n" + data, 4, 1, "[Reference] has no resistance"},
            {v2 + "[Two-Port Data Order] 12_21\n" + data, 3, 1,
             "'[Two-Port Data Order]' is not a keyword of a one-port file"},
            {v2 + "[Network Data\n", 3, 1, "'[Network Data' is not a keyword of a one-port file"},
            {v2 + "1 5 0\n2 5 0", 3, 1, "no [Network Data] before the data"},
            {v2 + data + "[Reference] 75", 6, 1, "'[Reference]' after the data"},
        });
}

}  // namespace lowhiss::one_port_test
