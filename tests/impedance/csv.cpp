#include "impedance/outcome.hpp"

namespace lowhiss::csv_test {
using namespace lowhiss::impedance_test;

TEST_CASE("an impedance as CSV") {
    const std::string rows = row1 + "\n" + row2;
    const std::string header = "frequency_hz, impedance_ohm, phase_deg\n";
    SECTION("bare") {
        check_good(read("a.csv", rows));
    }
    SECTION("name in capitals") {
        check_good(read("A.CSV", rows));
    }
    SECTION("final newline") {
        check_good(read("a.csv", rows + "\n"));
    }
    SECTION("header") {
        check_good(read("a.csv", header + rows));
    }
    SECTION("other names") {
        check_good(read("a.csv", "f,|Z| (Ω),Phase (°)\n" + rows));
    }
    SECTION("comments and blank lines") {
        check_good(
            read("a.csv", "# LCR meter; 20 °C\n\n" + header + " \t\n" + row1 + "\n  #\n" + row2));
    }
    SECTION("CRLF and byte order mark") {
        check_good(read("a.csv", "\xEF\xBB\xBF" + row1 + "\r\n\r\n" + row2 + "\r\n"));
    }
    SECTION("quotes, blanks, signs and exponents") {
        check_good(
            read("a.csv",
                 "\"f, swept\",\"say \"\"Z\"\"\",phase\n"
                 "\"1e3\" ,\t\"50\", +53.13010235415598\n2.0E+03 ,1e2,\" 306.86989764584402\""));
    }
}

TEST_CASE("mistakes in an impedance as CSV") {
    const std::string separators =
        "export again with these, or replace decimal commas first, then semicolons";
    const std::string units = "convert or exchange the columns";
    const std::string zero = "100,5,0\n";
    check_mistakes(
        "a.csv",
        {
            {"", 0, 0, "the file has no points"},
            {"f,z,p\n# nothing\n", 0, 0, "the file has no points"},
            {"100,5,0", 0, 0, "the file has only one point"},
            {"1OO,5,0\n200,5,0", 1, 1, "'1OO' is not a number"},
            {zero + "200,five,0", 2, 5, "'five' is not a number"},
            {zero + "200, 5 ohm,0", 2, 6, "'5 ohm' is not a number"},
            {zero + "200,0x10,0", 2, 5, "'0x10' is not a number"},
            {zero + "200,+-5,0", 2, 5, "'+-5' is not a number"},
            {zero + "200,\"5\"\"\",0", 2, 6, "'5\"\"' is not a number"},
            {zero + "200,\"5,0,", 2, 5, "the line has 2 columns"},
            {zero + "200,\"5,0\",0", 2, 6, "'5,0' is not a number",
             "write the decimal mark as a point"},
            {zero + "\t200,5µ,0", 2, 6, "'5µ' is not a number"},
            {zero + "200,,0", 2, 5, "a number is missing"},
            {zero + "200,5,", 2, 7, "a number is missing"},
            {"100,nan,0\n200,5,0", 1, 5, "'nan' is not a finite number"},
            {"nan,5,0\n200,5,0", 1, 1, "'nan' is not a finite number"},
            {zero + "200,5,-inf", 2, 7, "'-inf' is not a finite number"},
            {zero + "200,1e999,0", 2, 5, "'1e999' is not a finite number"},
            {"0,5,0\n200,5,0", 1, 1, "'0' is not a frequency above zero"},
            {"-100,5,0\n200,5,0", 1, 1, "'-100' is not a frequency above zero"},
            {zero + "200,-5,0", 2, 5, "the magnitude '-5' is negative"},
            {zero + "200,5,120", 2, 7, "the resistance is negative: -2.5 ohm", passive},
            {zero + "200,5,90.000001", 2, 7, "the resistance is negative: -8.72665e-08 ohm",
             passive},
            {"200,5,0\n" + zero, 2, 1, "'100' is below the previous frequency", sorted},
            {zero + zero, 2, 1, "the frequency '100' is given twice", "keep one of the two lines"},
            {zero + "200,5", 2, 5, "the line has 2 columns"},
            {zero + "200", 2, 1, "the line has 1 column"},
            {zero + "200,5,0,1,2", 2, 9, "the line has 5 columns"},
            {zero + "200;5;0\n300;5;0", 2, 4, "the columns are separated by semicolons",
             separators},
            {"f;z;p\n100;5;0", 1, 2, "the columns are separated by semicolons", separators},
            {"LCR meter\n" + zero + "200,5,0", 1, 1, "the line has 1 column"},
            {"f (kHz),Z,p\n1,5,0\n2,5,0", 1, 1, "column 1 is named 'f (kHz)'", units},
            {"f,|Z| [ohm],phase [rad]\n1,5,0\n2,5,0", 1, 13, "column 3 is named 'phase [rad]'",
             units},
            {"f,|Z| (Ω),φ_rad\n1,5,0\n2,5,0", 1, 11, "column 3 is named 'φ_rad'", units},
            {"f,R_ohm,X_ohm\n1,5,0\n2,5,0", 1, 9, "column 3 is named 'X_ohm'", units},
        });
}

}  // namespace lowhiss::csv_test
