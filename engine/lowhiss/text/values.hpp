#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/text/document.hpp"
#include "lowhiss/text/field.hpp"

namespace lowhiss {

Diagnostic error_at(const Position& at, std::string code, std::string subject, std::string found,
                    std::string accepted = "", std::string advice = "");

/// An unknown name, with the nearest known one.
Diagnostic unknown_name(const Position& at, std::string code, std::string subject,
                        std::string_view what, std::string_view name,
                        const std::vector<std::string>& known);

/// A value of the unit as written in a file: "\"4k7\"".
std::string example_of(Unit unit);

/// Advice for when no model of a kind is defined.
std::string how_to_define(std::string_view kind);

/// The value of `[low, high]`, with low <= high.
struct Interval {
    double low;
    double high;
};

// Each of these reports a mistake to `out` and then returns nothing.
std::optional<double> read_figure(const Node& node, Unit unit, Range range,
                                  const std::string& subject, Diagnostics& out);
std::optional<Interval> read_interval(const Node& node, Unit unit, Range low, Range high,
                                      const std::string& subject, Diagnostics& out);
std::optional<std::string> read_text(const Node& node, const std::string& subject,
                                     Diagnostics& out);
std::optional<bool> read_flag(const Node& node, const std::string& subject, Diagnostics& out);
const Node::Table* read_table(const Node& node, const std::string& subject, Diagnostics& out,
                              std::string accepted = "a table: { key = value, ... }");
const Node::Array* read_list(const Node& node, const std::string& subject, Diagnostics& out,
                             std::string accepted);

/// Reports every key of the table that is not among the accepted ones.
void reject_unknown_keys(const Node::Table& table, const std::vector<std::string>& accepted,
                         const std::string& subject, Diagnostics& out);

/// Sets one figure of the owner, or both of its ends.
template <class Owner>
void read_field(const Node& node, const Field<Owner>& field, Owner& owner,
                const std::string& subject, Diagnostics& out) {
    const Ends<Owner>& ends = field.ends;
    if (ends.low_slot && node.array()) {
        const auto both = read_interval(node, field.unit, ends.low, ends.high, subject, out);
        if (!both) return;
        ends.low_slot(owner) = both->low;
        field.slot(owner) = both->high;
    } else if (const auto value = read_figure(node, field.unit, field.range, subject, out)) {
        field.slot(owner) = *value;
        if (ends.low_slot) ends.low_slot(owner) = ends.plus_minus ? -*value : *value;
    }
}

/// Sets the owner's figures from the table; figures without a key keep their value. Adds the keys
/// to `accepted`. Reports missing required keys at `at`, unless `partial`.
template <class Owner>
void read_fields(const Node::Table& table, std::span<const Field<Owner>> fields, Owner& owner,
                 const std::string& subject, const Position& at, bool partial,
                 std::vector<std::string>& accepted, Diagnostics& out) {
    for (const Field<Owner>& field : fields) {
        accepted.emplace_back(field.key);
        const std::string key(field.key);
        const Member* member = find(table, key);
        if (member) {
            read_field(member->value, field, owner, std::string(subject).append(".").append(key),
                       out);
        } else if (field.required && !partial) {
            out.push_back(error_at(at, "missing-key", subject,
                                   std::string("'").append(key).append("' is missing"),
                                   std::string(key)
                                       .append(" = ")
                                       .append(example_of(field.unit))
                                       .append(", ")
                                       .append(field.about)));
        }
    }
}

}  // namespace lowhiss
