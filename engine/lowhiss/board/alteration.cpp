#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/source_line.hpp"
#include "lowhiss/text/utf8.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr const char* forms_of_alteration = "PART=VALUE or PART.key=VALUE, as R5=15R";

/// Moves what was parsed from "v = VALUE" to the place of VALUE in the option.
void move_to(const Position& place, Position& at) {
    constexpr int before_value = 4;
    if (at.line == 1) at.column += place.column - 1 - before_value;
    at.source = place.source;
}

void move_to(const Position& place, Node& node) {
    move_to(place, node.at);
    if (auto* array = std::get_if<Node::Array>(&node.value)) {
        for (Node& entry : *array) move_to(place, entry);
    }
    if (Node::Table* table = node.table()) {
        for (Member& member : *table) {
            move_to(place, member.at);
            move_to(place, member.value);
        }
    }
}

/// A list, a table or a text in quotes as TOML has them; all else is a text as it stands, so that
/// R5=15R needs no quotes.
class AlterationReader {
  public:
    AlterationReader(const BoardDraft& draft, const std::string& text)
        : draft_(draft),
          out_(draft.out),
          source_(std::make_shared<const Source>(Source{"--set", text})) {}

    std::optional<Member> read() {
        const std::string_view text = source_->text;
        if (printable(text) != text) {
            report_form(text, "it has a character that is invisible or not UTF-8");
            return std::nullopt;
        }
        const std::string_view name = part_in(text);
        if (name.empty()) {
            report_no_part(text);
            return std::nullopt;
        }
        const Position at = position_of(source_, name);
        const std::string part(name);
        std::string_view rest =
            text.substr(static_cast<std::size_t>(name.data() + name.size() - text.data()));
        const auto equals = rest.find('=');
        if (equals == std::string_view::npos)
            return report_form(rest, "there is no ="), std::nullopt;
        std::string_view key = trimmed(rest.substr(0, equals));
        const std::string_view shown = trimmed(rest.substr(equals + 1));
        if (shown.empty()) {
            report_form(rest.substr(equals), "there is no value after the =");
            return std::nullopt;
        }
        auto value = value_of(shown);
        if (!value) return std::nullopt;
        if (key.empty()) return Member{part, at, *std::move(value)};
        key = trimmed(key.substr(1));  // after the dot
        if (key.empty()) {
            report_form(rest, "there is no key after the dot");
            return std::nullopt;
        }
        const Position key_at = position_of(source_, key);
        Node::Table changes;
        changes.push_back({std::string(key), key_at, *std::move(value)});
        return Member{part, at, Node{std::move(changes), key_at}};
    }

  private:
    /// The longest name of a part that the text begins with, before a = or a dot.
    std::string_view part_in(std::string_view text) const {
        const std::string_view begin =
            text.substr(std::min(text.find_first_not_of(" \t"), text.size()));
        std::string_view longest = begin.substr(0, 0);
        for (const Part& part : draft_.board.parts) {
            if (!begin.starts_with(part.name) || part.name.size() <= longest.size()) continue;
            const std::string_view rest = trimmed(begin.substr(part.name.size()));
            if (rest.starts_with('=') || rest.starts_with('.')) {
                longest = begin.substr(0, part.name.size());
            }
        }
        return longest;
    }

    void report_form(std::string_view here, const std::string& found) {
        out_.push_back(
            error_at(position_of(source_, here), "bad-alteration", "", found, forms_of_alteration));
    }

    void report_no_part(std::string_view text) {
        const std::string_view name = trimmed(text.substr(0, text.find_first_of("=.")));
        if (text.find('=') == std::string_view::npos)
            return report_form(text, fmt::format("there is no = in {}", quote(source_->text)));
        if (name.empty()) return report_form(text, "there is no part before the =");
        report_unknown_part(draft_, position_of(source_, name), "", "part", std::string(name),
                            part_names(draft_.board));
    }

    std::optional<Node> value_of(std::string_view shown) {
        const Position at = position_of(source_, shown);
        if (shown == "true" || shown == "false") return Node{shown == "true", at};
        constexpr std::string_view toml_begins = "[{\"'";
        if (toml_begins.find(shown.front()) == std::string_view::npos) {
            return Node{std::string(shown), at};
        }
        try {
            const Node parsed = parse_document(std::make_shared<const Source>(
                Source{source_->path, fmt::format("v = {}", shown)}));
            Node value = parsed.table()->front().value;
            move_to(at, value);
            return value;
        } catch (const Error& error) {
            for (Diagnostic d : error.diagnostics()) {
                move_to(at, d.at);
                out_.push_back(std::move(d));
            }
            return std::nullopt;
        }
    }

    const BoardDraft& draft_;
    Diagnostics& out_;
    std::shared_ptr<const Source> source_;
};

/// The key that an alteration changes; its part's main key if it names none.
std::string altered_key(const Board& board, const Member& change) {
    const Node::Table* keys = change.value.table();
    if (keys && keys->size() == 1) return keys->front().key;
    const Part* part = find_part(board, change.key);
    return keys || !part ? "" : std::string(schema_of(*part).keyword);
}

}  // namespace

std::vector<Member> read_alterations(const BoardDraft& draft,
                                     const std::vector<std::string>& texts) {
    std::vector<Member> changes;
    for (const std::string& text : texts) {
        auto change = AlterationReader(draft, text).read();
        if (!change) continue;
        const std::string key = altered_key(draft.board, *change);
        const bool twice = std::any_of(changes.begin(), changes.end(), [&](const Member& other) {
            return other.key == change->key && altered_key(draft.board, other) == key;
        });
        if (twice) {
            draft.out.push_back(error_at(change->at, "set-twice", change->key,
                                         fmt::format("'{}' is set twice", key), "each key once"));
        }
        changes.push_back(*std::move(change));
    }
    return changes;
}

void alter(const BoardDraft& draft, const std::vector<Member>& changes, std::vector<Part>& parts) {
    for (const Member& change : changes) {
        const auto part = std::find_if(parts.begin(), parts.end(),
                                       [&](const Part& each) { return each.name == change.key; });
        if (part != parts.end()) *part = changed_part(draft, *part, change);
    }
}

std::string altered_name(const std::string& name, const std::vector<std::string>& texts) {
    std::string altered = name;
    for (std::size_t k = 0; k < texts.size(); ++k) {
        altered += (k == 0 ? " with " : ", ") + texts[k];
    }
    return altered;
}

}  // namespace lowhiss
