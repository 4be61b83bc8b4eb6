#include "write/supply_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr double shown_capacitor_v = 0.01;

/// Less than a picoampere or a microvolt is printed as 0.
std::string amount(double value, Unit unit) {
    if (!std::isfinite(value)) return "-";
    const double negligible = unit == Unit::ampere ? 1e-12 : unit == Unit::volt ? 1e-6 : 0;
    return print_quantity(std::abs(value) < negligible ? 0 : value, unit, 3);
}

std::string position_text(double rotation) {
    return std::isnan(rotation) ? "-" : fixed(100 * rotation, 0) + " %";
}

class SupplyWriter {
  public:
    SupplyWriter(const Board& board, bool bold) : board_(board), bold_(bold) {}

    std::string text(const std::vector<SupplyRun>& runs) {
        for (const SupplyRun& run : runs) write(run);
        return std::move(text_);
    }

  private:
    void title(const std::string& text) {
        if (!text_.empty()) text_ += "\n";
        text_ += title_line(text, bold_);
    }
    void line(const std::string& text, std::size_t indent = 0) { text_ += hanging(text, indent); }

    void write(const SupplyRun& run) {
        title(board_title(board_.name, board_.revision, run.variant));
        if (!run.summary.empty()) line(run.summary);
        if (!run.capsule.empty()) line("capsule " + run.capsule);
        if (run.ends.size() > 1) line("low and high: " + ends_text());
        write_faults(run);
        write_amplifiers(run);
        write_transistors(run);
        write_sources(run);
        write_life(run);
        write_capacitors(run);
        write_outputs(run);
        text_ += best_case_note(
            run.assumes_ideal,
            {"supply_margin", "supply_current", "feed_margin", "battery_life", "output_offset"});
    }

    std::string ends_text() const {
        const bool batteries = std::any_of(
            board_.parts.begin(), board_.parts.end(),
            [](const Part& part) { return std::holds_alternative<Battery>(part.data); });
        if (!board_.feed) return "batteries empty and full";
        const std::string feed = "feed at the ends of its tolerance";
        return batteries ? feed + ", batteries empty and full" : feed;
    }

    void write_faults(const SupplyRun& run) {
        for (const ListedFault& placed : run.faults) {
            std::string where;
            if (run.ends.size() > 1) where = fmt::format(", supply {}", text_of(placed.end));
            if (!std::isnan(placed.knob)) where += ", knob " + position_text(placed.knob);
            const bool accepted = !placed.accepted.empty();
            line(fmt::format("  {}  {}: {}{}{}", accepted ? "ACCEPT" : "FAULT", placed.fault.part,
                             placed.fault.text, where,
                             accepted ? "; accepted: " + placed.accepted : ""),
                 9);
        }
    }

    static std::vector<std::string> end_headings(const SupplyRun& run,
                                                 std::vector<std::string> cells) {
        for (const SupplyEnd end : run.ends) {
            cells.emplace_back(run.ends.size() > 1 ? text_of(end) : "supply");
        }
        return cells;
    }

    /// Over the knob positions, the largest at the high end of the supply and else the smallest.
    template <class Value>
    static double extreme_of(const SupplyRun& run, std::size_t end, Value value) {
        double extreme = value(run.states[end].front());
        for (const SupplyState& state : run.states[end]) {
            extreme = run.ends[end] == SupplyEnd::high ? std::max(extreme, value(state))
                                                       : std::min(extreme, value(state));
        }
        return extreme;
    }

    /// At the knob position where the output may be farthest from 0 V.
    static const AmplifierState& worst_of(const std::vector<SupplyState>& states, std::size_t k) {
        const auto off_v = [&](const SupplyState& state) {
            return std::abs(state.amplifiers[k].output_v) + state.amplifiers[k].output_offset_v;
        };
        return std::max_element(
                   states.begin(), states.end(),
                   [&](const SupplyState& a, const SupplyState& b) { return off_v(a) < off_v(b); })
            ->amplifiers[k];
    }

    void write_amplifiers(const SupplyRun& run) {
        const auto& nominal = states_at(run, SupplyEnd::nominal);
        if (nominal.front().amplifiers.empty() && !nominal.front().transistors.empty()) return;
        title("Amplifiers: supply voltage and DC output, each at its worst knob position");
        if (nominal.front().amplifiers.empty()) {
            line(R"(  no amplifier has its supply pins drawn; add supply = ["vcc", "vee"] to it)");
            return;
        }
        Table table(1);
        std::vector<std::string> heading = end_headings(run, {"part"});
        heading.insert(heading.end(), {"needs", "output", "offset ±"});
        table.heading(heading);
        for (std::size_t k = 0; k < nominal.front().amplifiers.size(); ++k) {
            const AmplifierState& a = worst_of(nominal, k);
            std::vector<std::string> cells{cut(a.part, 12)};
            for (std::size_t end = 0; end < run.states.size(); ++end) {
                const auto supply_v = [&](const SupplyState& s) {
                    return s.amplifiers[k].supply_v;
                };
                cells.push_back(amount(extreme_of(run, end, supply_v), Unit::volt));
            }
            const std::string needs =
                a.max_v == infinite
                    ? amount(a.min_v, Unit::volt) + " or more"
                    : fmt::format("{} to {}", fixed(a.min_v, 1), amount(a.max_v, Unit::volt));
            cells.push_back(marked(needs, at_best(run.assumes_ideal, {"supply_margin"})));
            cells.push_back(amount(a.output_v, Unit::volt));
            cells.push_back(marked(amount(a.output_offset_v, Unit::volt),
                                   at_best(run.assumes_ideal, {"output_offset"})));
            table.row(std::move(cells));
        }
        text_ += table.text();
    }

    static const std::vector<SupplyState>& states_at(const SupplyRun& run, SupplyEnd end) {
        const auto found = std::find(run.ends.begin(), run.ends.end(), end);
        return run.states[static_cast<std::size_t>(found - run.ends.begin())];
    }

    /// Those of the first knob position; a region that differs elsewhere is an alarm there.
    void write_transistors(const SupplyRun& run) {
        const auto& nominal = states_at(run, SupplyEnd::nominal);
        if (nominal.front().transistors.empty()) return;
        title(run.knob.size() > 1
                  ? "Transistors: current into collector or drain, at the first knob position"
                  : "Transistors: current into collector or drain");
        Table table(1);
        table.heading({"part", "current", "V_BE/GS", "V_CE/DS", "dissipation", "region"});
        for (const TransistorState& t : nominal.front().transistors) {
            table.row({cut(t.part, 12), amount(t.amperes, Unit::ampere),
                       amount(t.control_v, Unit::volt), amount(t.across_v, Unit::volt),
                       fmt::format("{:.3g} mW", 1000 * t.dissipation_w),
                       std::string(region_text(t))});
        }
        text_ += table.text();
    }

    void write_sources(const SupplyRun& run) {
        const auto& nominal = states_at(run, SupplyEnd::nominal);
        if (nominal.front().sources.empty()) return;
        title("Sources: terminal voltage and output current, at the worst knob position");
        Table table(2);
        std::vector<std::string> heading = end_headings(run, {"part", "kind"});
        heading.insert(heading.end(), {"current", "max", "limit"});
        const bool best = at_best(run.assumes_ideal, {"supply_current", "feed_margin"});
        table.heading(heading);
        for (std::size_t k = 0; k < nominal.front().sources.size(); ++k) {
            const SourceState& s = nominal.front().sources[k];
            std::vector<std::string> cells{cut(s.part, 12), kind_of(s)};
            double nominal_a = s.amperes;
            for (const SupplyState& state : nominal) {
                nominal_a = std::max(nominal_a, state.sources[k].amperes);
            }
            double most_a = nominal_a;
            for (std::size_t end = 0; end < run.states.size(); ++end) {
                const auto volts = [&](const SupplyState& state) { return state.sources[k].volts; };
                cells.push_back(amount(extreme_of(run, end, volts), Unit::volt));
                for (const SupplyState& state : run.states[end]) {
                    most_a = std::max(most_a, state.sources[k].amperes);
                }
            }
            cells.push_back(marked(amount(nominal_a, Unit::ampere), best));
            cells.push_back(marked(amount(most_a, Unit::ampere), best));
            cells.push_back(amount(s.limit_a, Unit::ampere));
            table.row(std::move(cells));
        }
        text_ += table.text();
    }

    /// The shortest life of all knob positions.
    void write_life(const SupplyRun& run) {
        const BatteryLife* shortest = nullptr;
        double longest_h = 0;
        std::size_t place = 0;
        for (std::size_t k = 0; k < run.life.size(); ++k) {
            if (std::isnan(run.life[k].hours)) continue;
            longest_h = std::max(longest_h, run.life[k].hours);
            if (shortest && run.life[k].hours >= shortest->hours) continue;
            shortest = &run.life[k];
            place = k;
        }
        if (!shortest) return;
        constexpr double alike = 0.999;
        const bool any = run.life.size() == 1 || shortest->hours >= alike * longest_h;
        const bool best = at_best(run.assumes_ideal, {"battery_life"});
        line(fmt::format("  battery life {}{}{}, {}", best ? "at best " : "",
                         amount(shortest->hours, Unit::hour),
                         any ? "" : " at knob " + position_text(run.knob[place]),
                         end_text(*shortest)),
             4);
    }

    std::string kind_of(const SourceState& s) const {
        if (s.kind == SourceState::Kind::feed) return board_.feed->standard;
        return std::string(source_kind_text(s.kind));
    }

    /// The largest voltage over supply ends and knob positions, with its sign.
    static double largest_v(const SupplyRun& run, std::size_t capacitor) {
        double largest = 0;
        for (const auto& states : run.states) {
            for (const SupplyState& state : states) {
                const double v = state.capacitors[capacitor].volts;
                if (std::abs(v) > std::abs(largest)) largest = v;
            }
        }
        return largest;
    }

    /// The least capacitance over the ends of the supply, for a capacitor that loses some under
    /// bias.
    static std::string biased_text(const SupplyRun& run, std::size_t capacitor) {
        double least_f = infinite;
        for (const auto& states : run.states) {
            for (const SupplyState& state : states) {
                least_f = std::min(least_f, state.capacitors[capacitor].capacitance_f);
            }
        }
        const bool loses = run.states.front().front().capacitors[capacitor].loses;
        return loses ? quantity(least_f, Unit::farad) : "-";
    }

    void write_capacitors(const SupplyRun& run) {
        const auto& capacitors = run.states.front().front().capacitors;
        if (capacitors.empty()) return;
        title("Capacitors: largest DC voltage, first pin to second");
        Table table(1);
        const bool any_loses = std::any_of(capacitors.begin(), capacitors.end(),
                                           [](const CapacitorState& c) { return c.loses; });
        std::vector<std::string> heading{"part", "voltage", "rated", "polarised"};
        if (any_loses) heading.emplace_back("C under bias");
        table.heading(std::move(heading));
        std::vector<std::string> aside;
        for (std::size_t k = 0; k < capacitors.size(); ++k) {
            const double v = largest_v(run, k);
            if (std::abs(v) < shown_capacitor_v) {
                aside.push_back(capacitors[k].part);
                continue;
            }
            std::vector<std::string> cells{cut(capacitors[k].part, 12), amount(v, Unit::volt),
                                           amount(capacitors[k].rating_v, Unit::volt),
                                           capacitors[k].polarised ? "yes" : "no"};
            if (any_loses) cells.push_back(biased_text(run, k));
            table.row(std::move(cells));
        }
        if (!table.empty()) text_ += table.text();
        if (!aside.empty()) text_ += wrapped_list("under 10 mV", aside);
    }

    void write_outputs(const SupplyRun& run) {
        const auto& nominal = states_at(run, SupplyEnd::nominal);
        title("DC output voltage and wiper currents by knob position");
        Table table(0);
        std::vector<std::string> heading{"knob", "output", "offset ±"};
        for (const WiperState& wiper : nominal.front().wipers) {
            heading.push_back(cut(wiper.part, 12));
        }
        table.heading(heading);
        for (std::size_t k = 0; k < run.knob.size(); ++k) {
            std::vector<std::string> cells{position_text(run.knob[k]),
                                           amount(nominal[k].output_v, Unit::volt),
                                           marked(amount(nominal[k].output_offset_v, Unit::volt),
                                                  at_best(run.assumes_ideal, {"output_offset"}))};
            for (const WiperState& wiper : nominal[k].wipers) {
                cells.push_back(amount(wiper.amperes, Unit::ampere));
            }
            table.row(std::move(cells));
        }
        text_ += table.text();
    }

    const Board& board_;
    bool bold_;
    std::string text_;
};

}  // namespace

std::string_view source_kind_text(SourceState::Kind kind) {
    switch (kind) {
        case SourceState::Kind::feed:
            return "feed";
        case SourceState::Kind::battery:
            return "battery";
        case SourceState::Kind::regulator:
            return "regulator";
        case SourceState::Kind::source:
            break;
    }
    return "source";
}

std::string supply_table(const SupplyReport& report, bool bold) {
    return SupplyWriter(*report.board, bold).text(report.runs);
}

}  // namespace lowhiss::cli
