#include "lowhiss/text/values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/library.hpp"
#include "lowhiss/text/nearest.hpp"

namespace lowhiss {
namespace {

std::optional<double> bare_number(const Node& node) {
    if (const auto* integer = std::get_if<std::int64_t>(&node.value)) {
        return static_cast<double>(*integer);
    }
    if (const auto* real = std::get_if<double>(&node.value)) return *real;
    return std::nullopt;
}

Diagnostic wrong_kind(const Node& node, const std::string& subject, std::string accepted) {
    return error_at(node.at, "wrong-kind", subject, fmt::format("this is {}", kind_of(node)),
                    std::move(accepted));
}

/// "a resistance such as 4k7, 4.7 kΩ or 4700 ohm".
std::string accepted_figure(Unit unit) {
    return std::get<QuantityProblem>(parse_quantity("", unit)).accepted;
}

Diagnostic out_of_range(const Node& node, double value, Unit unit, Range range,
                        const std::string& subject) {
    const bool percent =
        unit == Unit::fraction && node.text() == nullptr && value >= 2 && value <= 100;
    const bool ppm = unit == Unit::per_kelvin && node.text() == nullptr;
    return error_at(node.at, "out-of-range", subject,
                    node.text() ? fmt::format("{} is out of range", quote(*node.text()))
                                : fmt::format("{} is out of range", value),
                    fmt::format("{}: {}", range_text(range), accepted_figure(unit)),
                    percent ? fmt::format("for percent, write \"{} %\"", value)
                    : ppm   ? fmt::format("for parts per million, write \"{} ppm/K\"", value)
                            : "");
}

/// Whether an end of an interval is in its range. A low end may lack its minus sign, which the
/// advice then says.
bool accepts_end(const Node& node, double value, Unit unit, Range range, const std::string& subject,
                 Diagnostics& out) {
    if (in_range(value, range)) return true;
    out.push_back(out_of_range(node, value, unit, range, subject));
    if (value > 0 && in_range(-value, range)) out.back().advice = "add a minus sign";
    return false;
}

}  // namespace

Diagnostic error_at(const Position& at, std::string code, std::string subject, std::string found,
                    std::string accepted, std::string advice) {
    return {Severity::error,     std::move(code),  at, std::move(subject), std::move(found),
            std::move(accepted), std::move(advice)};
}

Diagnostic unknown_name(const Position& at, std::string code, std::string subject,
                        std::string_view what, std::string_view name,
                        const std::vector<std::string>& known) {
    std::string advice = did_you_mean(name, known);
    return error_at(at, std::move(code), std::move(subject),
                    fmt::format("there is no {} {}", what, quote(name)),
                    known.empty() ? fmt::format("none: no {} is defined", what) : listed(known),
                    std::move(advice));
}

std::string how_to_define(std::string_view kind) {
    const std::string library = library_that_defines(kind);
    return fmt::format("define it as [{}.NAME], or include a file that does{}", kind,
                       library.empty() ? "" : fmt::format(", as include = [\"{}\"]", library));
}

std::string example_of(Unit unit) {
    const std::string_view examples = info(unit).examples;
    const std::string_view first = examples.substr(0, examples.find(", "));
    return unit == Unit::number ? std::string(first) : fmt::format("\"{}\"", first);
}

std::optional<double> read_figure(const Node& node, Unit unit, Range range,
                                  const std::string& subject, Diagnostics& out) {
    std::optional<double> value = bare_number(node);
    if (const std::string* text = node.text()) {
        const auto parsed = parse_quantity(*text, unit);
        if (const auto* problem = std::get_if<QuantityProblem>(&parsed)) {
            out.push_back(error_at(node.at, "bad-value", subject, problem->found, problem->accepted,
                                   problem->advice));
            return std::nullopt;
        }
        value = std::get<double>(parsed);
    }
    if (!value) {
        out.push_back(wrong_kind(node, subject, accepted_figure(unit)));
        return std::nullopt;
    }
    if (!std::isfinite(*value)) {
        out.push_back(error_at(node.at, "bad-value", subject, "the number is not finite",
                               accepted_figure(unit)));
        return std::nullopt;
    }
    if (!in_range(*value, range)) {
        out.push_back(out_of_range(node, *value, unit, range, subject));
        return std::nullopt;
    }
    return value;
}

std::optional<Interval> read_interval(const Node& node, Unit unit, Range low, Range high,
                                      const std::string& subject, Diagnostics& out) {
    const std::string accepted = fmt::format("[low, high], each {}", accepted_figure(unit));
    const Node::Array* list = read_list(node, subject, out, accepted);
    if (!list) return std::nullopt;
    if (list->size() != 2) {
        out.push_back(error_at(node.at, "bad-range", subject,
                               fmt::format("this list has {} value{}, not two", list->size(),
                                           list->size() == 1 ? "" : "s"),
                               accepted));
        return std::nullopt;
    }
    const Node& first = list->front();
    const Node& last = list->back();
    const auto from = read_figure(first, unit, Range::any, subject, out);
    const auto to = read_figure(last, unit, Range::any, subject, out);
    if (!from || !to) return std::nullopt;
    if (*from > *to) {
        out.push_back(error_at(node.at, "bad-range", subject, "the low end is above the high one",
                               accepted, "exchange the two"));
        return std::nullopt;
    }
    const bool low_is_good = accepts_end(first, *from, unit, low, subject, out);
    const bool high_is_good = accepts_end(last, *to, unit, high, subject, out);
    if (!low_is_good || !high_is_good) return std::nullopt;
    return Interval{*from, *to};
}

std::optional<std::string> read_text(const Node& node, const std::string& subject,
                                     Diagnostics& out) {
    const std::string* text = node.text();
    if (text && !text->empty()) return *text;
    out.push_back(
        text ? error_at(node.at, "empty-text", subject, "the text is empty", "a text in quotes")
             : wrong_kind(node, subject, "a text in quotes"));
    return std::nullopt;
}

std::optional<bool> read_flag(const Node& node, const std::string& subject, Diagnostics& out) {
    if (const bool* flag = std::get_if<bool>(&node.value)) return *flag;
    out.push_back(wrong_kind(node, subject, "true or false, without quotes"));
    return std::nullopt;
}

const Node::Table* read_table(const Node& node, const std::string& subject, Diagnostics& out,
                              std::string accepted) {
    if (!node.table()) out.push_back(wrong_kind(node, subject, std::move(accepted)));
    return node.table();
}

const Node::Array* read_list(const Node& node, const std::string& subject, Diagnostics& out,
                             std::string accepted) {
    if (!node.array()) out.push_back(wrong_kind(node, subject, std::move(accepted)));
    return node.array();
}

void reject_unknown_keys(const Node::Table& table, const std::vector<std::string>& accepted,
                         const std::string& subject, Diagnostics& out) {
    for (const Member& member : table) {
        if (std::find(accepted.begin(), accepted.end(), member.key) != accepted.end()) continue;
        out.push_back(error_at(member.at, "unknown-key", subject,
                               fmt::format("unknown key {}", quote(member.key)), listed(accepted),
                               did_you_mean(member.key, accepted)));
    }
}

}  // namespace lowhiss
