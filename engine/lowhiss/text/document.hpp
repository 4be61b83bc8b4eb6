#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

struct Member;

/// A date or time as written; no key takes one. The string member has a second purpose: if every
/// alternative of a variant is trivial, a string or a vector, libstdc++ assumes that it always has
/// a value, and running out of memory in a copy then destroys what was not constructed.
struct DateOrTime {
    std::string text;

    bool operator==(const DateOrTime&) const = default;
};

/// A TOML value and its position. Tables keep the order of the file.
struct Node {
    using Array = std::vector<Node>;
    using Table = std::vector<Member>;

    std::variant<DateOrTime, bool, std::int64_t, double, std::string, Array, Table> value;
    Position at;

    const std::string* text() const { return std::get_if<std::string>(&value); }
    const Array* array() const { return std::get_if<Array>(&value); }
    const Table* table() const { return std::get_if<Table>(&value); }
    Table* table() { return std::get_if<Table>(&value); }
};

struct Member {
    std::string key;
    Position at;
    Node value;
};

const Member* find(const Node::Table& table, std::string_view key);
Member* find(Node::Table& table, std::string_view key);

/// The kind of value in words: "a text", "a number", "a table".
std::string_view kind_of(const Node& node);

/// Whether two nodes have the same content, wherever they are.
bool same_content(const Node& a, const Node& b);

/// Parses TOML 1.0. Throws Error (unusable_input) at the first syntax error, duplicate keys
/// included.
Node parse_document(std::shared_ptr<const Source> source);

/// A basic string of TOML 1.0, with its quotes; quotes, backslashes and control characters are
/// escaped, and bytes that are not UTF-8 become U+FFFD.
std::string toml_text(std::string_view text);

/// A key of TOML 1.0: bare where it may be.
std::string toml_key(const std::string& key);

/// The table as TOML 1.0, keys in the order of their bytes, one a line; a table in it is a section,
/// one within that is inline. `parse_document` reads back the same content, whatever bytes of UTF-8
/// are in keys and texts. Positions are ignored.
std::string document_text(const Node::Table& table);

}  // namespace lowhiss
