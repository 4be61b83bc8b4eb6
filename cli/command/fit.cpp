#include "command/fit.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>

#include "draw/gnuplot.hpp"
#include "lowhiss/fit/fit_result.hpp"
#include "lowhiss/fit/taper_file.hpp"
#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/open.hpp"
#include "shell/log.hpp"
#include "write/fit_report.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

[[noreturn]] void refuse(const std::string& what, const FitProblem& problem) {
    throw UsageError(fmt::format("{}: {}; accepted: {}", what, problem.found, problem.accepted));
}

template <class Fit>
Fit fit_or_refuse(std::variant<Fit, FitProblem> result, const std::string& what) {
    if (const auto* problem = std::get_if<FitProblem>(&result)) refuse(what, *problem);
    return std::get<Fit>(std::move(result));
}

/// "A=B,C=D" in pairs.
std::vector<std::pair<std::string, std::string>> pairs_of(const std::string& list,
                                                          const char* option,
                                                          const char* accepted) {
    std::vector<std::pair<std::string, std::string>> pairs;
    for (std::size_t at = 0; at <= list.size();) {
        const std::size_t comma = std::min(list.find(',', at), list.size());
        const std::string item = list.substr(at, comma - at);
        const auto equals = item.find('=');
        if (equals == std::string::npos) {
            refuse(option, {quote(item) + " is not a pair", accepted});
        }
        pairs.emplace_back(item.substr(0, equals), item.substr(equals + 1));
        at = comma + 1;
    }
    return pairs;
}

/// All of the first one's unit: a voltage or a current density.
FittedNoise fitted_noise(const std::string& list) {
    constexpr const char* option = "--noise";
    constexpr const char* accepted = "FREQUENCY=DENSITY, as \"10 Hz=8 nV/rtHz,1 kHz=3.5 nV/rtHz\"";
    const auto pairs = pairs_of(list, option, accepted);
    FittedNoise fitted;
    const auto as_current = parse_quantity(pairs.front().second, Unit::ampere_per_root_hertz);
    const bool current = std::holds_alternative<double>(as_current);
    fitted.unit = current ? Unit::ampere_per_root_hertz : Unit::volt_per_root_hertz;
    for (const auto& [frequency, density] : pairs) {
        fitted.points.push_back({parse_option(frequency, Unit::hertz, option),
                                 parse_option(density, fitted.unit, option)});
        const NoisePoint& point = fitted.points.back();
        if (point.frequency_hz > 0 && point.density > 0) continue;
        refuse(option, {fmt::format("'{}={}' is not above 0", frequency, density), accepted});
    }
    fitted.fit = fit_or_refuse(fit_noise(fitted.points), option);
    return fitted;
}

TaperPositions listed_positions(const std::string& list) {
    constexpr const char* option = "--taper";
    constexpr const char* accepted =
        "ROTATION=FRACTION or ROTATION=RESISTANCE, as \"0=2R,50%=1.5k,100%=10k\", or a CSV file";
    TaperPositions read;
    const auto pairs = pairs_of(list, option, accepted);
    const auto is_fraction = [](const std::string& text) {
        return std::holds_alternative<double>(parse_quantity(text, Unit::fraction));
    };
    read.in_ohm = !std::all_of(pairs.begin(), pairs.end(),
                               [&](const auto& pair) { return is_fraction(pair.second); });
    for (const auto& [rotation, value] : pairs) {
        read.positions.emplace_back(
            parse_option(rotation, Unit::fraction, option),
            parse_option(value, read.in_ohm ? Unit::ohm : Unit::fraction, option));
        const auto& [at, there] = read.positions.back();
        if (at >= 0 && at <= 1 && there >= 0) continue;
        refuse(option, {fmt::format("'{}={}' is out of range", rotation, value), accepted});
    }
    return read;
}

std::shared_ptr<const Source> open_measured(const std::string& path, const FitOptions& options) {
    Diagnostics diagnostics;
    const auto log = make_logger(options.common);
    auto source =
        open_source(path, logging(disk_reader(), log, options.common.files), {}, "", diagnostics);
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    if (!source) throw Silent{unusable};
    return source;
}

TaperFit fitted_taper(const FitOptions& options) {
    if (options.taper.find('=') != std::string::npos) {
        const TaperPositions read = listed_positions(options.taper);
        return fit_or_refuse(fit_taper(read.positions, read.in_ohm), "--taper");
    }
    Diagnostics diagnostics;
    const auto read = read_taper_file(open_measured(options.taper, options), diagnostics);
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    if (!read) throw Silent{unusable};
    return fit_or_refuse(fit_taper(read->positions, read->in_ohm), options.taper);
}

FittedCapsule fitted_capsule(const FitOptions& options) {
    FittedCapsule fitted;
    fitted.band = {parse_option(options.from, Unit::hertz, "--from"),
                   parse_option(options.to, Unit::hertz, "--to")};
    if (!(fitted.band.from_hz < fitted.band.to_hz)) {
        throw UsageError("--from must be lower than --to");
    }
    const auto source = open_measured(options.file, options);
    Diagnostics diagnostics;
    const std::vector<ImpedancePoint> points = read_impedance_file(source, diagnostics);
    print_diagnostics(diagnostics, options.common.quiet, options.common.color);
    if (points.empty()) throw Silent{unusable};
    fitted.fit = fit_or_refuse(fit_capsule(points, fitted.band), quote(options.file));
    fitted.left_out = points.size() - fitted.fit.points.size();
    const std::filesystem::path path(options.file);
    fitted.file = path.filename().string();
    fitted.name = options.name.empty() ? path.stem().string() : options.name;
    return fitted;
}

ChartSheet sheet_of_fit(const FittedCapsule& fitted) {
    const Curve measured{"measured", Curve::Kind::line, {}, {}};
    const Curve fit{"fitted", Curve::Kind::dashed, {}, {}};
    Chart magnitude{"Magnitude", "impedance, Ω", false, {}, {measured, fit}};
    Chart phase{"Phase", "phase, deg", false, {}, {measured, fit}};
    for (const ImpedancePoint& point : fitted.fit.points) {
        const std::array both{std::complex<double>(point.resistance_ohm, point.reactance_ohm),
                              impedance_of(fitted.fit.capsule, point.frequency_hz)};
        magnitude.frequency_hz.push_back(point.frequency_hz);
        phase.frequency_hz.push_back(point.frequency_hz);
        for (std::size_t k = 0; k < both.size(); ++k) {
            magnitude.curves[k].y.push_back(std::abs(both.at(k)));
            phase.curves[k].y.push_back(std::arg(both.at(k)) * 180 / std::numbers::pi);
        }
    }
    return {"Capsule " + fitted.name + ", measured and fitted", {magnitude, phase}};
}

Fitted fitted_of(const FitOptions& options) {
    if (!options.noise.empty()) return fitted_noise(options.noise);
    if (!options.taper.empty()) return fitted_taper(options);
    return fitted_capsule(options);
}

}  // namespace

void add_fit(CLI::App& app, FitOptions& options) {
    CLI::App* command = app.add_subcommand(
        "fit", "a model for a board file from measurements: a dynamic capsule, noise, a taper");
    command->add_option("IMPEDANCE", options.file,
                        "a measured impedance, .csv or .s1p, to which a dynamic capsule is fitted");
    command
        ->add_option("--noise", options.noise,
                     "floor and corner of a noise density instead, from two points or more: "
                     "\"10 Hz=8 nV/rtHz,1 kHz=3.5 nV/rtHz\"")
        ->type_name("LIST");
    command
        ->add_option(
            "--taper", options.taper,
            "a potentiometer's table instead, from positions as \"0=2R,50%=1.5k,100%=10k\" "
            "or a CSV file")
        ->type_name("LIST");
    command->add_option("--name", options.name, "name of the capsule; that of the file if left out")
        ->type_name("NAME");
    command->add_option("--from", options.from, "lowest frequency of the fit")
        ->type_name("FREQUENCY")
        ->capture_default_str();
    command->add_option("--to", options.to, "highest frequency of the fit")
        ->type_name("FREQUENCY")
        ->capture_default_str();
    command
        ->add_option("--output", options.output,
                     "write the model to a file instead of standard output")
        ->type_name("FILE");
    command->add_option("--json", options.json, "write everything as JSON; - is standard output")
        ->type_name("FILE");
    add_plot(*command, options.plot);
    add_common(*command, options.common);
}

ExitStatus run_fit(const FitOptions& options) {
    refuse_shared_output({options.json, options.plot, options.output});
    check_plot_name(options.plot);
    const int asked =
        int(!options.file.empty()) + int(!options.noise.empty()) + int(!options.taper.empty());
    if (asked != 1) {
        throw UsageError(
            "fit takes one measurement; accepted: a file IMPEDANCE, --noise or --taper");
    }
    if (options.file.empty() && !(options.plot + options.name).empty()) {
        throw UsageError("--plot and --name apply to a capsule; accepted: with a file IMPEDANCE");
    }
    const Fitted fitted = fitted_of(options);
    keep_apart({options.json, options.plot, options.output}, *options.common.files);
    if (!options.json.empty()) write_output(options.json, fit_json(fitted));
    if (!options.plot.empty())
        write_plot(options.plot, sheet_of_fit(std::get<FittedCapsule>(fitted)));
    const bool taken = options.json == "-" || options.plot == "-";
    if (!options.output.empty()) {
        write_output(options.output, fit_toml(fitted));
        if (!taken && !options.common.quiet && options.output != "-") {
            write_output("-", fit_words(fitted));
        }
    } else if (!taken) {
        write_output("-", fit_toml(fitted));
    }
    return done;
}

}  // namespace lowhiss::cli
