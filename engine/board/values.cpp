#include "values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/board/nearest.hpp"
#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/print.hpp"

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

std::string accepted_figure(Unit unit) {
    return fmt::format("a {} such as {}", info(unit).name, info(unit).examples);
}

}  // namespace

Diagnostic error_at(const Position& at, std::string code, std::string subject, std::string found,
                    std::string accepted, std::string advice) {
    return {Severity::error,  std::move(code),     at,
            std::move(subject), std::move(found), std::move(accepted),
            std::move(advice)};
}

Diagnostic unknown_name(const Position& at, std::string code, std::string subject,
                        std::string_view what, std::string_view name,
                        const std::vector<std::string>& known) {
    std::string advice = did_you_mean(name, known);
    return error_at(at, std::move(code), std::move(subject),
                    fmt::format("there is no {} '{}'", what, name),
                    known.empty() ? fmt::format("none: no {} is defined", what) : listed(known),
                    std::move(advice));
}

std::optional<double> read_figure(const Node& node, Unit unit, Range range,
                                  const std::string& subject, Diagnostics& out) {
    std::optional<double> value = bare_number(node);
    std::string shown = value ? fmt::format("{}", *value) : "";
    if (const std::string* text = node.text()) {
        const auto parsed = parse_quantity(*text, unit);
        if (const auto* problem = std::get_if<QuantityProblem>(&parsed)) {
            out.push_back(error_at(node.at, "bad-value", subject, problem->found,
                                   problem->accepted, problem->advice));
            return std::nullopt;
        }
        value = std::get<double>(parsed);
        shown = *text;
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
        out.push_back(error_at(node.at, "out-of-range", subject,
                               fmt::format("{} is outside what can be", shown),
                               fmt::format("{}, {}", accepted_figure(unit), range_text(range))));
        return std::nullopt;
    }
    return value;
}

std::optional<std::string> read_text(const Node& node, const std::string& subject,
                                     Diagnostics& out) {
    const std::string* text = node.text();
    if (text && !text->empty()) return *text;
    out.push_back(text ? error_at(node.at, "empty-text", subject, "the text is empty",
                                  "a text in quotes")
                       : wrong_kind(node, subject, "a text in quotes"));
    return std::nullopt;
}

std::optional<bool> read_flag(const Node& node, const std::string& subject, Diagnostics& out) {
    if (const bool* flag = std::get_if<bool>(&node.value)) return *flag;
    out.push_back(wrong_kind(node, subject, "true or false, without quotes"));
    return std::nullopt;
}

const Node::Table* read_table(const Node& node, const std::string& subject, Diagnostics& out) {
    if (!node.table()) out.push_back(wrong_kind(node, subject, "a table: { key = value, ... }"));
    return node.table();
}

const Node::Array* read_list(const Node& node, const std::string& subject, Diagnostics& out) {
    if (!node.array()) out.push_back(wrong_kind(node, subject, "a list: [ ..., ... ]"));
    return node.array();
}

void reject_unknown_keys(const Node::Table& table, const std::vector<std::string>& accepted,
                         const std::string& subject, Diagnostics& out) {
    for (const Member& member : table) {
        if (std::find(accepted.begin(), accepted.end(), member.key) != accepted.end()) continue;
        out.push_back(error_at(member.at, "unknown-key", subject,
                               fmt::format("unknown key '{}'", member.key), listed(accepted),
                               did_you_mean(member.key, accepted)));
    }
}

}  // namespace lowhiss
