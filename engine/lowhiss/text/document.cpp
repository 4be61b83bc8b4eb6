#include "lowhiss/text/document.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <sstream>
#include <tuple>

#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/text/plain_text.hpp"
#include "lowhiss/text/syntax.hpp"
#include "lowhiss/text/utf8.hpp"

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

bool is_bare(char letter) {
    return is_letter(letter) || is_digit(letter) || letter == '_' || letter == '-';
}

std::string number_text(double value) {
    const std::string text = fmt::format("{}", value);
    const bool whole = text.find_first_of(".enai") == std::string::npos;
    return whole ? text + ".0" : text;
}

std::string value_text(const Node& node);

template <class Items, class Text>
std::string joined(const Items& items, Text text) {
    std::string result;
    for (const auto& item : items) result += (result.empty() ? " " : ", ") + text(item);
    return result.empty() ? "" : result + " ";
}

/// On one line, as in a list or an inline table. Dates and times are written as texts.
std::string value_text(const Node& node) {
    return std::visit(
        Overloads{[](const DateOrTime& moment) { return toml_text(moment.text); },
                  [](bool flag) { return std::string(flag ? "true" : "false"); },
                  [](std::int64_t number) { return fmt::format("{}", number); },
                  [](double number) { return number_text(number); },
                  [](const std::string& text) { return toml_text(text); },
                  [](const Node::Array& list) { return "[" + joined(list, value_text) + "]"; },
                  [](const Node::Table& table) {
                      return "{" +
                             joined(table,
                                    [](const Member& member) {
                                        return toml_key(member.key) + " = " +
                                               value_text(member.value);
                                    }) +
                             "}";
                  }},
        node.value);
}

std::vector<const Member*> sorted(const Node::Table& table) {
    std::vector<const Member*> members;
    for (const Member& member : table) members.push_back(&member);
    std::sort(members.begin(), members.end(),
              [](const Member* a, const Member* b) { return a->key < b->key; });
    return members;
}

}  // namespace

std::string toml_text(std::string_view text) {
    std::string result = "\"";
    while (!text.empty()) {
        const std::string_view here = text;
        const char32_t c = take_code_point(text);
        const std::string_view letter = here.substr(0, here.size() - text.size());
        if (c == '"' || c == '\\')
            result += fmt::format("\\{}", letter);
        else if (is_control(c))
            result += fmt::format("\\u{:04X}", static_cast<unsigned>(c));
        else
            result += c == invalid_code_point ? std::string_view("\xEF\xBF\xBD") : letter;
    }
    return result + "\"";
}

std::string toml_key(const std::string& key) {
    const bool bare = !key.empty() && std::all_of(key.begin(), key.end(), is_bare);
    return bare ? key : toml_text(key);
}

std::string document_text(const Node::Table& table) {
    std::string values;
    std::string tables;
    for (const Member* member : sorted(table)) {
        if (const Node::Table* inner = member->value.table()) {
            tables += fmt::format("\n[{}]\n", toml_key(member->key));
            for (const Member* line : sorted(*inner)) {
                tables += fmt::format("{} = {}\n", toml_key(line->key), value_text(line->value));
            }
        } else {
            values += fmt::format("{} = {}\n", toml_key(member->key), value_text(member->value));
        }
    }
    return values + tables;
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
