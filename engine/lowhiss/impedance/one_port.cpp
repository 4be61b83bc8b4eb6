#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "lowhiss/impedance/points.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/quote.hpp"

// S-parameter files as the IBIS Open Forum specifies them, version 2.0 of 24 April 2009: "General
// Syntax Rules and Guidelines" for comments and case, "Option Line" for its defaults, for "only the
// first counts" and for the normalisation, "[Reference]", "[Network Data]", "[End]". [Version] 2.1
// is the edition of 2024, which changes nothing for one port (issue resolutions 4.1 and 5.1).

namespace lowhiss::impedance_file {
namespace {

enum class Parameter { scattering, admittance, impedance };
enum class Format { magnitude_angle, decibel_angle, real_imaginary };

/// The smallest |1 - S| that determines an impedance: below it, |Z| is more than two million R.
constexpr double nearest_to_open = 1e-6;

/// The option line, with the defaults of the specification.
struct Options {
    double unit_hz = 1e9;
    Parameter parameter = Parameter::scattering;
    Format format = Format::magnitude_angle;
    double reference_ohm = 50;
};

template <class Value>
using Words = std::pair<std::string_view, Value>;

constexpr auto frequency_units =
    std::to_array<Words<double>>({{"hz", 1}, {"khz", 1e3}, {"mhz", 1e6}, {"ghz", 1e9}});
constexpr auto parameters = std::to_array<Words<Parameter>>(
    {{"s", Parameter::scattering}, {"y", Parameter::admittance}, {"z", Parameter::impedance}});
constexpr auto formats = std::to_array<Words<Format>>({{"ma", Format::magnitude_angle},
                                                       {"db", Format::decibel_angle},
                                                       {"ri", Format::real_imaginary}});

bool set_option(Options& options, std::string_view word) {
    const auto set = [&](auto& option, const auto& words) {
        for (const auto& [name, value] : words) {
            if (name != word) continue;
            option = value;
            return true;
        }
        return false;
    };
    return set(options.unit_hz, frequency_units) || set(options.parameter, parameters) ||
           set(options.format, formats);
}

std::vector<Token> words_of(const Token& line) {
    std::vector<Token> fields;
    std::string_view rest = trimmed(line.text);
    while (!rest.empty()) {
        const auto end = std::min(rest.find_first_of(" \t"), rest.size());
        fields.push_back(line.part(rest.substr(0, end)));
        rest = trimmed(rest.substr(end));
    }
    return fields;
}

class Reader {
  public:
    Reader(Points& points, Faults& faults) : points_(points), faults_(faults) {}

    void read(std::string_view text);

  private:
    enum class Section { header, awaits_reference, information, data, end };

    void read_line(const Token& line);
    void read_options(const Token& line);
    void read_keyword(const Token& line);
    void obey(std::string_view keyword, const Token& at, const std::vector<Token>& arguments);
    void read_version(const Token& version);
    void read_ports(const Token& ports);
    void read_reference(const Token& ohms);
    void read_row(const std::vector<Token>& fields);
    bool data_may_start(const Token& at);
    std::optional<std::complex<double>> impedance_ohm(const Token& at, double first,
                                                      double second) const;
    void check_count() const;

    /// A fault of the header: frequencies are still checked, impedances are not.
    void reject(const Token& at, std::string found, std::string accepted, std::string advice = "");

    Points& points_;
    Faults& faults_;
    Options options_;
    bool has_options_ = false;
    bool header_is_right_ = true;
    bool version_2_ = false;
    Section section_ = Section::header;
    std::optional<Token> count_;  ///< of [Number of Frequencies]
};

void Reader::read(std::string_view text) {
    TextLines lines(text);
    for (auto line = lines.next(); line && section_ != Section::end && !faults_.full();
         line = lines.next()) {
        const auto content = trimmed(line->text.substr(0, line->text.find('!')));
        if (!content.empty()) read_line(line->part(content));
    }
    check_count();
}

void Reader::read_line(const Token& line) {
    if (line.text.front() == '[') return read_keyword(line);
    if (section_ == Section::information) return;
    if (line.text.front() == '#') return read_options(line);
    const std::vector<Token> fields = words_of(line);
    if (section_ != Section::awaits_reference) return read_row(fields);
    section_ = Section::header;
    read_reference(line);
}

void Reader::read_options(const Token& line) {
    if (std::exchange(has_options_, true)) return;  // only the first option line counts
    const std::vector<Token> fields = words_of(line.part(line.text.substr(1)));
    for (std::size_t i = 0; i < fields.size(); ++i) {
        const std::string word = lower_case(fields[i].text);
        if (word == "r" && i + 1 < fields.size()) {
            read_reference(fields[++i]);
        } else if (word == "g" || word == "h") {
            reject(fields[i], quote(fields[i].text) + " parameters describe a two-port",
                   "S, Y or Z");
        } else if (!set_option(options_, word)) {
            reject(fields[i], quote(fields[i].text) + " is not an option of a one-port file",
                   "Hz, kHz, MHz or GHz; S, Y or Z; MA, DB or RI; R and a resistance in ohms");
        }
    }
}

void Reader::read_keyword(const Token& line) {
    const auto end = std::min(line.text.find(']'), line.text.size() - 1) + 1;
    const Token at = line.part(line.text.substr(0, end));
    const std::string keyword = lower_case(at.text);
    if (section_ == Section::awaits_reference) {
        section_ = Section::header;
        reject(at, "[Reference] has no resistance", "a resistance in ohms");
    }
    if (section_ != Section::information) {
        obey(keyword, at, words_of(line.part(line.text.substr(end))));
    } else if (keyword == "[end information]") {
        section_ = Section::header;
    }
}

void Reader::obey(std::string_view keyword, const Token& at, const std::vector<Token>& arguments) {
    const Token& argument = arguments.size() == 1 ? arguments.front() : at;
    if (keyword == "[version]" && points_.size() == 0) {
        read_version(argument);
    } else if (!version_2_) {
        reject(at, quote(at.text) + " in a file of version 1", "keywords only after [Version] 2.0",
               "put [Version] 2.0 first, or remove the keywords");
    } else if (keyword == "[end]") {
        section_ = Section::end;
    } else if (points_.size() > 0) {
        reject(at, quote(at.text) + " after the data", "only [End] after the points");
    } else if (keyword == "[number of ports]") {
        read_ports(argument);
    } else if (keyword == "[number of frequencies]") {
        count_ = argument;
    } else if (keyword == "[reference]" && arguments.empty()) {
        section_ = Section::awaits_reference;
    } else if (keyword == "[reference]") {
        read_reference(argument);
    } else if (keyword == "[begin information]") {
        section_ = Section::information;
    } else if (keyword == "[network data]") {
        section_ = Section::data;
    } else if (keyword != "[matrix format]") {  // one element has no format
        reject(at, quote(at.text) + " is not a keyword of a one-port file",
               "[Number of Ports], [Number of Frequencies], [Reference], [Matrix Format], "
               "[Begin Information], [Network Data], [End]");
    }
}

void Reader::read_version(const Token& version) {
    version_2_ = true;
    if (version.text != "2.0" && version.text != "2.1") {
        reject(version, quote(version.text) + " is not a known version", "2.0 or 2.1",
               "for version 1, remove the keywords");
    }
}

void Reader::read_ports(const Token& ports) {
    const auto count = read_number(ports, faults_);
    if (count && *count != 1) {
        reject(ports, quote(ports.text) + " ports", "1 port",
               "export the reflection of one port as .s1p");
    }
}

void Reader::read_reference(const Token& ohms) {
    const auto reference_ohm = read_number(ohms, faults_);
    if (reference_ohm && *reference_ohm > 0) {
        options_.reference_ohm = *reference_ohm;
    } else if (reference_ohm) {
        reject(ohms, "the reference resistance " + quote(ohms.text) + " is not above zero",
               "a positive resistance in ohms");
    } else {
        header_is_right_ = false;
    }
}

void Reader::read_row(const std::vector<Token>& fields) {
    if (!data_may_start(fields.front())) return;
    const auto row = three_numbers(fields, "3 columns: frequency and a pair of numbers", faults_);
    if (!row) return;
    const auto [frequency, first, second] = *row;
    points_.add(fields[0], frequency * options_.unit_hz);
    const auto z_ohm = impedance_ohm(fields[1], first, second);
    if (z_ohm) points_.set_impedance(fields[1], *z_ohm);
}

bool Reader::data_may_start(const Token& at) {
    if (has_options_ && (!version_2_ || section_ == Section::data)) return true;
    if (!has_options_) {
        reject(at, "no option line before the data",
               "an option line; the defaults are # GHz S MA R 50");
    } else {
        reject(at, "no [Network Data] before the data", "[Network Data] before the first point");
    }
    section_ = Section::end;  // the other lines have the same fault
    return false;
}

std::optional<std::complex<double>> Reader::impedance_ohm(const Token& at, double first,
                                                          double second) const {
    if (!header_is_right_) return std::nullopt;
    std::optional<std::complex<double>> value = {{first, second}};
    if (options_.format == Format::magnitude_angle) value = polar(at, first, second, faults_);
    if (options_.format == Format::decibel_angle) {
        value = polar(at, ratio_from_db(first), second, faults_);
    }
    if (!value) return std::nullopt;

    // "Option Line": Y and Z are normalised to R in version 1, and are not in version 2.
    const double reference_ohm = options_.reference_ohm;
    const double scale_ohm = version_2_ ? 1 : reference_ohm;
    if (options_.parameter == Parameter::impedance) return scale_ohm * *value;
    if (options_.parameter == Parameter::admittance) return scale_ohm / *value;
    if (std::abs(1.0 - *value) >= nearest_to_open) {
        return reference_ohm * (1.0 + *value) / (1.0 - *value);
    }
    faults_.add(at, "S is too close to 1 to determine an impedance", "|1 - S| of 1e-6 or more",
                "measure with an impedance bridge and write Z");
    return std::nullopt;
}

void Reader::check_count() const {
    if (!count_) return;
    const auto count = read_number(*count_, faults_);
    if (!count || faults_.any() || *count == static_cast<double>(points_.size())) return;
    faults_.add(*count_,
                fmt::format("[Number of Frequencies] is {}, but the file has {}", count_->text,
                            points_.size()),
                "[Number of Frequencies] equal to the number of points",
                "check that the file is complete");
}

void Reader::reject(const Token& at, std::string found, std::string accepted, std::string advice) {
    header_is_right_ = false;
    faults_.add(at, std::move(found), std::move(accepted), std::move(advice));
}

}  // namespace

void read_one_port(std::string_view text, Points& points, Faults& faults) {
    Reader(points, faults).read(text);
}

}  // namespace lowhiss::impedance_file
