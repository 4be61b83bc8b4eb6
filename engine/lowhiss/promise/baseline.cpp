#include "lowhiss/promise/baseline.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/invisible.hpp"
#include "lowhiss/text/open.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr std::string_view preface =
    "# What lowhiss computed for this board when it was last accepted. `lowhiss check` compares\n"
    "# with it, `lowhiss check --record` writes it anew. Not meant to be edited.\n\n";

Member text_member(std::string key, std::string text) {
    return {std::move(key), {}, {std::move(text), {}}};
}

Node line_node(const BoardLine& line) {
    Node::Array items{{line.text, {}}};
    for (const std::string& node : line.nodes) items.push_back({node, {}});
    return {std::move(items), {}};
}

class BaselineReader {
  public:
    explicit BaselineReader(Diagnostics& out) : out_(out) {}

    std::optional<Baseline> read(const Node& root) {
        const Node::Table& tables = *root.table();
        baseline_.at = root.at;
        const std::size_t errors_before = out_.size();
        if (!has_our_format(tables, root.at)) return {};
        reject_invisible(tables, out_);
        reject_unknown_keys(
            tables, {"format", "lowhiss", "board", "revision", "figures", "parts", "ordered"},
            "baseline", out_);
        text(tables, "board", baseline_.board);
        text(tables, "revision", baseline_.revision);
        text(tables, "lowhiss", baseline_.recorded_by);
        read_figures(tables);
        read_lines(tables);
        read_ordered_files(tables);
        if (out_.size() > errors_before) return {};
        return std::move(baseline_);
    }

  private:
    bool has_our_format(const Node::Table& tables, const Position& whole_file) {
        const Member* format = find(tables, "format");
        const std::string* name = format ? format->value.text() : nullptr;
        if (name && *name == baseline_format) return true;
        const bool other = name != nullptr && name->starts_with("lowhiss-baseline/");
        out_.push_back(error_at(
            format ? format->value.at : whole_file, "baseline-format", "baseline",
            other ? fmt::format("the format {} belongs to another version of lowhiss", quote(*name))
                  : "not a baseline: it has no format",
            fmt::format("format = \"{}\"", baseline_format),
            other ? "use that version, or write the file anew: `lowhiss check --record --force`"
                  : "if the file is not needed, write over it: `lowhiss check --record --force`"));
        return false;
    }

    void text(const Node::Table& tables, const std::string& key, std::string& into) {
        const Member* member = find(tables, key);
        if (member) into = read_text(member->value, "baseline." + key, out_).value_or("");
    }

    const Node::Table* table(const Node::Table& tables, const std::string& key) {
        const Member* member = find(tables, key);
        if (member) return read_table(member->value, "baseline." + key, out_);
        out_.push_back(error_at(
            baseline_.at, "missing-table", "baseline", fmt::format("there is no [{}]", key), "",
            "restore the file, or write it anew: `lowhiss check --record --force`"));
        return nullptr;
    }

    void read_figures(const Node::Table& tables) {
        const Node::Table* figures = table(tables, "figures");
        if (!figures) return;
        for (const Member& member : *figures) {
            const auto value = read_text(member.value, "figures", out_);
            if (value) baseline_.figures.push_back({member.key, *value, member.value.at});
        }
    }

    void read_lines(const Node::Table& tables) {
        const Node::Table* parts = table(tables, "parts");
        if (!parts) return;
        for (const Member& member : *parts) {
            const Node::Array* items = read_list(member.value, "parts." + member.key, out_,
                                                 "a list: what the part is, then its nodes");
            if (!items) continue;
            BoardLine line{member.key, "", {}};
            for (const Node& item : *items) {
                const auto piece = read_text(item, "parts." + member.key, out_);
                if (!piece) continue;
                if (&item == items->data())
                    line.text = *piece;
                else
                    line.nodes.push_back(*piece);
            }
            baseline_.lines.push_back(std::move(line));
        }
    }

    void read_ordered_files(const Node::Table& tables) {
        const Member* member = find(tables, "ordered");
        const Node::Table* files =
            member ? read_table(member->value, "baseline.ordered", out_) : nullptr;
        if (!files) return;
        for (const Member& file : *files) {
            const auto sum = read_text(file.value, "ordered", out_);
            if (sum) baseline_.ordered.push_back({file.key, *sum});
        }
    }

    Diagnostics& out_;
    Baseline baseline_;
};

/// One version of a text with merge conflicts: the text outside of them, and of each conflict the
/// lines from the mark `begins` to the next mark.
std::string version_of(std::string_view text, std::string_view begins) {
    std::string version;
    bool kept = true;
    while (!text.empty()) {
        const std::string_view line = text.substr(0, text.find('\n'));
        text.remove_prefix(std::min(line.size() + 1, text.size()));
        const std::string_view mark = line.substr(0, 7);
        const bool ends = mark == ">>>>>>>";
        if (ends || mark == "<<<<<<<" || mark == "|||||||" || mark == "=======")
            kept = ends || mark == begins;
        else if (kept)
            version += std::string(line) + "\n";
    }
    return version;
}

std::optional<std::vector<OrderedFile>> ordered_in_version(const std::string& text) {
    Diagnostics none;
    const auto baseline = read_baseline(
        "version", FileReader([&](const std::string&) { return FileReader::Content(text); }), none);
    if (!baseline) return {};
    return baseline->ordered;
}

}  // namespace

std::string baseline_path(const std::string& board_path) {
    std::filesystem::path path = board_path;
    if (path.extension() == ".toml") path.replace_extension();
    return path.string() + ".baseline";
}

std::string baseline_text(const Board& board, std::span<const Figure> figures,
                          std::string_view version, std::span<const OrderedFile> ordered) {
    Node::Table recorded;
    for (const Figure& figure : figures) {
        const Drift allowed = drift_allowed(board, *figure.figure->measure->schema);
        recorded.push_back(text_member(key_of(figure), recorded_text(figure, allowed)));
    }
    Node::Table lines;
    for (const BoardLine& line : board_lines(board)) {
        lines.push_back({line.name, {}, line_node(line)});
    }
    Node::Table root{text_member("format", std::string(baseline_format)),
                     text_member("lowhiss", std::string(version)),
                     text_member("board", board.name),
                     {"figures", {}, {std::move(recorded), {}}},
                     {"parts", {}, {std::move(lines), {}}}};
    if (!board.revision.empty()) root.push_back(text_member("revision", board.revision));
    Node::Table sums;
    for (const OrderedFile& file : ordered) sums.push_back(text_member(file.path, file.sha256));
    if (!sums.empty()) root.push_back({"ordered", {}, {std::move(sums), {}}});
    return std::string(preface) + document_text(root);
}

std::optional<Baseline> read_baseline(const std::string& path, const FileReader& reader,
                                      Diagnostics& out) {
    const auto source = open_source(path, reader, {}, "baseline", out);
    if (!source) return {};
    try {
        return BaselineReader(out).read(parse_document(source));
    } catch (const Error& error) {
        for (Diagnostic d : error.diagnostics()) {
            d.subject = "baseline";
            if (d.code == "merge-conflict") {
                d.advice =
                    "merge the board file first, then record the baseline again: `lowhiss "
                    "check --record` writes over a conflict";
            }
            out.push_back(std::move(d));
        }
        return {};
    }
}

std::optional<std::vector<OrderedFile>> ordered_in_unusable(const std::string& text) {
    if (text.find("[ordered]") == std::string::npos) return std::vector<OrderedFile>{};
    auto ours = ordered_in_version(version_of(text, "<<<<<<<"));
    if (!ours || ours != ordered_in_version(version_of(text, "======="))) return {};
    return ours;
}

}  // namespace lowhiss
