#include "lowhiss/board/load.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/invisible.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t deepest_nesting = 100;

/// The limit for any list or table. No preamp has as many parts, and work that grows with the
/// square of a count stays fast.
constexpr std::size_t most_entries = 2000;

const std::vector<std::string>& model_tables() {
    static const std::vector<std::string> names{"opamp",   "preamp_ic", "bipolar", "jfet",
                                                "capsule", "battery",   "pinout"};
    return names;
}

bool contains(const std::vector<std::string>& names, std::string_view name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

enum class Role { board, library };

std::vector<std::string> accepted_tables(Role role) {
    std::vector<std::string> names{"board"};
    if (role == Role::board) {
        names.insert(names.end(), {"parts", "input", "output", "knob", "feed", "ripple", "variants",
                                   "matched", "limit", "drift", "accept", "off_board", "choose"});
    }
    names.insert(names.end(), model_tables().begin(), model_tables().end());
    return names;
}

using Path = std::vector<std::string>;

/// Whether the table has parts, which are replaced as a whole.
bool holds_parts(const Path& path) {
    return path == Path{"parts"} ||
           (path.size() == 3 && path.front() == "variants" && path.back() == "set");
}

/// Merges a later table into an earlier one, key by key; the later value wins.
void merge(Node::Table& base, Node::Table&& later, const Path& path) {
    for (Member& member : later) {
        Member* present = find(base, member.key);
        if (!present) {
            base.push_back(std::move(member));
        } else if (!holds_parts(path) && present->value.table() && member.value.table()) {
            Path inner = path;
            inner.push_back(member.key);
            merge(*present->value.table(), std::move(*member.value.table()), inner);
        } else {
            *present = std::move(member);
        }
    }
}

const std::string* name_of(const Node& limit) {
    const Node::Table* table = limit.table();
    const Member* name = table ? find(*table, "name") : nullptr;
    return name ? name->value.text() : nullptr;
}

/// A later limit replaces the earlier one of the same name. Two of one name in one file are both
/// kept, so that the reader of limits reports them.
Node::Array merged_limits(Node::Array base, Node::Array later) {
    for (Node& limit : later) {
        const std::string* name = name_of(limit);
        const auto same = std::find_if(base.begin(), base.end(), [&](const Node& other) {
            const std::string* other_name = name_of(other);
            return name != nullptr && other_name != nullptr && *name == *other_name &&
                   other.at.source != limit.at.source;
        });
        if (same != base.end())
            *same = std::move(limit);
        else
            base.push_back(std::move(limit));
    }
    return base;
}

class Loader {
  public:
    Loader(const FileReader& reader, Diagnostics& out) : reader_(reader), out_(out) {}

    Node::Table load(const std::string& path, Role role, const Position& named_at) {
        const std::string name = std::filesystem::path(path).lexically_normal().string();
        const std::string identity = reader_.identity(path);
        if (!enter(name, identity, named_at)) return incomplete();
        Node::Table tables;
        if (const auto source = open_source(path, reader_, named_at, "", out_)) {
            loaded.files.push_back(source);
            opened_.insert(identity);
            tables = read(source, role);
        } else {
            tables = incomplete();
        }
        stack_.pop_back();
        return tables;
    }

    LoadedBoard loaded;

  private:
    Node::Table incomplete() {
        loaded.complete = false;
        return {};
    }

    bool is_open(const std::string& identity) const {
        return std::any_of(stack_.begin(), stack_.end(),
                           [&](const OpenFile& file) { return file.identity == identity; });
    }

    bool enter(const std::string& name, const std::string& identity, const Position& named_at) {
        if (is_open(identity)) {
            std::vector<std::string> names;
            for (const OpenFile& file : stack_) names.push_back(file.name);
            out_.push_back(error_at(named_at, "file-cycle", "",
                                    fmt::format("this file refers back to itself: {} -> {}",
                                                fmt::join(names, " -> "), name),
                                    "", "remove one of these references"));
            return false;
        }
        if (stack_.size() >= deepest_nesting) {
            out_.push_back(
                error_at(named_at, "nesting-too-deep", "",
                         fmt::format("files refer to each other more than {} levels deep",
                                     deepest_nesting)));
            return false;
        }
        stack_.push_back({name, identity});
        return true;
    }

    Node::Table read(const std::shared_ptr<const Source>& source, Role role) {
        Node::Table tables;
        try {
            Node root = parse_document(source);
            if (reject_crowds(root, "the file")) return incomplete();
            reject_nameless(root);
            tables = std::move(*root.table());
        } catch (const Error& error) {
            out_.insert(out_.end(), error.diagnostics().begin(), error.diagnostics().end());
            return incomplete();
        }
        reject_invisible(tables, out_);
        reject_unknown(tables, role);
        gather_models(tables);
        Node::Table board = take_board_table(tables);
        if (role == Role::library) reject_unknown_keys(board, {"include"}, "board", out_);
        include_libraries(board, source->path);
        return role == Role::board ? on_its_base(board, std::move(tables), source->path) : tables;
    }

    /// Whether a list or table of the node has too many entries; the first is reported.
    bool reject_crowds(const Node& node, const std::string& subject) {
        const Node::Array* array = node.array();
        const Node::Table* table = node.table();
        const std::size_t count = array ? array->size() : table ? table->size() : 0;
        if (count > most_entries) {
            out_.push_back(error_at(node.at, "too-many-entries", subject,
                                    fmt::format("there are {} entries", count),
                                    fmt::format("up to {}", most_entries)));
            return true;
        }
        if (array) {
            return std::any_of(array->begin(), array->end(),
                               [&](const Node& entry) { return reject_crowds(entry, subject); });
        }
        return table != nullptr &&
               std::any_of(table->begin(), table->end(), [&](const Member& member) {
                   return reject_crowds(member.value, member.key);
               });
    }

    void reject_nameless(const Node& node) {
        if (const Node::Array* array = node.array()) {
            for (const Node& entry : *array) reject_nameless(entry);
        }
        const Node::Table none;
        for (const Member& member : node.table() ? *node.table() : none) {
            if (member.key.empty()) {
                out_.push_back(error_at(member.at, "empty-text", "", "the name is empty",
                                        "a name of one letter or more"));
            }
            reject_nameless(member.value);
        }
    }

    void reject_unknown(const Node::Table& tables, Role role) {
        const auto accepted = accepted_tables(role);
        const auto board_only = accepted_tables(Role::board);
        for (const Member& member : tables) {
            if (contains(accepted, member.key)) continue;
            out_.push_back(
                contains(board_only, member.key)
                    ? error_at(member.at, "not-in-a-library", "",
                               fmt::format("an included file cannot have [{}]", member.key),
                               listed(accepted),
                               "to start from another board, use based_on instead of include")
                    : error_at(member.at, "unknown-key", "",
                               fmt::format("unknown table or key {}", quote(member.key)),
                               listed(accepted),
                               contains(board_keys(), member.key)
                                   ? "put it under [board]"
                                   : did_you_mean(member.key, accepted)));
        }
    }

    void gather_models(Node::Table& tables) {
        for (const std::string& name : model_tables()) {
            const Member* table = find(tables, name);
            const Node::Table* entries = table ? read_table(table->value, name, out_) : nullptr;
            if (!entries) continue;
            for (const Member& entry : *entries) loaded.models.push_back({name, entry});
        }
        std::erase_if(tables,
                      [](const Member& member) { return contains(model_tables(), member.key); });
    }

    /// Removes the keys of [board] that name other files, and returns a copy with them.
    Node::Table take_board_table(Node::Table& tables) {
        Member* board = find(tables, "board");
        if (board == nullptr || read_table(board->value, "board", out_) == nullptr) {
            std::erase_if(tables, [](const Member& member) { return member.key == "board"; });
            return {};
        }
        Node::Table copy = *board->value.table();
        std::erase_if(*board->value.table(), [](const Member& member) {
            return member.key == "based_on" || member.key == "include" || member.key == "remove";
        });
        return copy;
    }

    void include_libraries(const Node::Table& board, const std::string& from) {
        const Member* include = find(board, "include");
        const Node::Array* paths =
            include ? read_list(include->value, "board.include", out_, "a list: [\"opamps.toml\"]")
                    : nullptr;
        loaded.complete = loaded.complete && (paths != nullptr || include == nullptr);
        if (!paths) return;
        for (const Node& node : *paths) {
            const auto named = read_text(node, "board.include", out_);
            loaded.complete = loaded.complete && named;
            if (!named) continue;
            const std::string path = path_beside(from, *named);
            const std::string identity = reader_.identity(path);
            if (!opened_.contains(identity) || is_open(identity)) {
                load(path, Role::library, node.at);
            }
        }
    }

    Node::Table on_its_base(const Node::Table& board, Node::Table&& tables,
                            const std::string& from) {
        const Member* based_on = find(board, "based_on");
        const auto named =
            based_on ? read_text(based_on->value, "board.based_on", out_) : std::nullopt;
        const Member* remove = find(board, "remove");
        if (!named) {
            if (remove && !based_on) {
                out_.push_back(error_at(remove->at, "nothing-to-remove", "board.remove",
                                        "'remove' needs 'based_on'", "",
                                        "delete the parts' lines instead"));
            }
            loaded.complete = loaded.complete && based_on == nullptr;
            return std::move(tables);
        }
        Node::Table base = load(path_beside(from, *named), Role::board, based_on->value.at);
        if (remove) remove_parts(base, remove->value);
        merge_limits(base, tables);
        merge(base, std::move(tables), {});
        for (const Member& member : base) {
            if (reject_crowds(member.value, member.key)) return incomplete();
        }
        return base;
    }

    void remove_parts(Node::Table& base, const Node& names) {
        Member* parts = find(base, "parts");
        const Node::Array* list = read_list(names, "board.remove", out_, "a list: [\"R1\"]");
        if (!list || !parts || !parts->value.table()) return;
        for (const Node& node : *list) {
            const auto name = read_text(node, "board.remove", out_);
            if (!name) continue;
            std::vector<std::string> known;
            for (const Member& part : *parts->value.table()) known.push_back(part.key);
            const auto removed = std::erase_if(
                *parts->value.table(), [&](const Member& part) { return part.key == *name; });
            if (removed > 0) continue;
            out_.push_back(
                unknown_name(node.at, "unknown-part", "board.remove", "part", *name, known));
        }
    }

    static void merge_limits(Node::Table& base, Node::Table& later) {
        Member* earlier = find(base, "limit");
        Member* limits = find(later, "limit");
        if (!earlier || !limits || !earlier->value.array() || !limits->value.array()) return;
        limits->value.value = merged_limits(*earlier->value.array(), *limits->value.array());
    }

    const FileReader& reader_;
    Diagnostics& out_;
    struct OpenFile {
        std::string name;
        std::string identity;
    };
    std::vector<OpenFile> stack_;   ///< files that are being read, each named by the one before
    std::set<std::string> opened_;  ///< identities of all files read
};

}  // namespace

const std::vector<std::string>& board_keys() {
    static const std::vector<std::string> keys{"name",        "revision",          "based_on",
                                               "remove",      "include",           "ground",
                                               "temperature", "temperature_range", "not_simulated"};
    return keys;
}

LoadedBoard load_board(const std::string& path, const FileReader& reader, Diagnostics& out) {
    Loader loader(reader, out);
    loader.loaded.tables = loader.load(path, Role::board, {});
    return std::move(loader.loaded);
}

}  // namespace lowhiss
