#include "lowhiss/text/document.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <sstream>
#include <tuple>

#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/text/plain_text.hpp"
#include "lowhiss/text/syntax.hpp"

namespace lowhiss {
namespace {

class Converter {
  public:
    explicit Converter(std::shared_ptr<const Source> source) : source_(std::move(source)) {}

    Position position(const toml::source_region& region) const {
        return {source_, static_cast<int>(region.begin.line),
                static_cast<int>(region.begin.column)};
    }

    Node convert(const toml::node& node) const {
        Node result;
        result.at = position(node.source());
        if (const auto* table = node.as_table()) result.value = convert(*table);
        if (const auto* array = node.as_array()) result.value = convert(*array);
        if (const auto* text = node.as_string()) result.value = text->get();
        if (const auto* flag = node.as_boolean()) result.value = flag->get();
        if (const auto* integer = node.as_integer()) result.value = integer->get();
        if (const auto* real = node.as_floating_point()) result.value = real->get();
        if (const auto* date = node.as_date()) result.value = text_of(date->get());
        if (const auto* time = node.as_time()) result.value = text_of(time->get());
        if (const auto* both = node.as_date_time()) result.value = text_of(both->get());
        return result;
    }

  private:
    template <class Moment>
    static DateOrTime text_of(const Moment& moment) {
        std::ostringstream text;
        text << moment;
        return {text.str()};
    }

    Node::Table convert(const toml::table& table) const {
        Node::Table members;
        for (const auto& [key, value] : table) {
            members.push_back({std::string(key.str()), position(key.source()), convert(value)});
        }
        std::stable_sort(members.begin(), members.end(), [](const Member& a, const Member& b) {
            return std::tie(a.at.line, a.at.column) < std::tie(b.at.line, b.at.column);
        });
        return members;
    }

    Node::Array convert(const toml::array& array) const {
        Node::Array items;
        for (const auto& item : array) items.push_back(convert(item));
        return items;
    }

    std::shared_ptr<const Source> source_;
};

toml::table written(const Node::Table& table);
toml::array written(const Node::Array& list);

/// Calls `put` with the value as the type that TOML has for it; a date or time is left out.
template <class Put>
void write(const Node& node, Put put) {
    std::visit(Overloads{[&](const Node::Table& table) { put(written(table)); },
                         [&](const Node::Array& list) { put(written(list)); },
                         [&](const OneOf<bool, std::int64_t, double, std::string> auto& scalar) {
                             auto copy = scalar;
                             put(std::move(copy));
                         },
                         [](const DateOrTime&) {}},
               node.value);
}

toml::array written(const Node::Array& list) {
    toml::array items;
    for (const Node& item : list) {
        write(item, [&](auto&& value) { items.push_back(std::forward<decltype(value)>(value)); });
    }
    return items;
}

toml::table written(const Node::Table& table) {
    toml::table result;
    for (const Member& member : table) {
        write(member.value, [&](auto&& value) {
            result.insert_or_assign(member.key, std::forward<decltype(value)>(value));
        });
    }
    return result;
}

}  // namespace

std::string document_text(const Node::Table& table) {
    const toml::table root = written(table);
    std::ostringstream text;
    text << toml::toml_formatter{root, toml::format_flags::allow_unicode_strings |
                                           toml::format_flags::indent_array_elements};
    return text.str() + "\n";
}

const Member* find(const Node::Table& table, std::string_view key) {
    const auto found = std::find_if(table.begin(), table.end(),
                                    [&](const Member& member) { return member.key == key; });
    return found == table.end() ? nullptr : &*found;
}

Member* find(Node::Table& table, std::string_view key) {
    return const_cast<Member*>(find(std::as_const(table), key));
}

std::string_view kind_of(const Node& node) {
    static constexpr std::array<std::string_view, 7> names{
        "a date or time", "a true/false value", "a number", "a number", "a text", "a list",
        "a table"};
    return names[node.value.index()];
}

bool same_content(const Node& a, const Node& b) {
    if (a.value.index() != b.value.index()) return false;
    const auto same_list = [&](const Node::Array& list) {
        const Node::Array& other = *b.array();
        return std::equal(list.begin(), list.end(), other.begin(), other.end(), same_content);
    };
    const auto same_table = [&](const Node::Table& table) {
        const Node::Table& others = *b.table();
        return table.size() == others.size() &&
               std::all_of(table.begin(), table.end(), [&](const Member& member) {
                   const Member* other = find(others, member.key);
                   return other != nullptr && same_content(member.value, other->value);
               });
    };
    const auto same_scalar = [&]<OneOf<DateOrTime, bool, std::int64_t, double, std::string> Scalar>(
                                 const Scalar& item) { return item == std::get<Scalar>(b.value); };
    return std::visit(Overloads{same_list, same_table, same_scalar}, a.value);
}

Node parse_document(std::shared_ptr<const Source> source) {
    if (auto fault = fault_of_text(source)) {
        throw Error(Error::Kind::unusable_input, {*std::move(fault)});
    }
    const Converter converter(source);
    try {
        const toml::table root =
            toml::parse(std::string_view(source->text), std::string_view(source->path));
        Node node = converter.convert(static_cast<const toml::node&>(root));
        node.at = {std::move(source), 0, 0};
        return node;
    } catch (const toml::parse_error& error) {
        throw Error(Error::Kind::unusable_input,
                    {explain_syntax(error.description(), converter.position(error.source()))});
    }
}

}  // namespace lowhiss
