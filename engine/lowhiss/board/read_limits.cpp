#include "lowhiss/board/readers.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/board/mask_file.hpp"
#include "lowhiss/quantity/level.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/open.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

std::vector<std::string> measure_names() {
    std::vector<std::string> names;
    for (const MeasureSchema& schema : measure_schemas()) names.emplace_back(schema.name);
    return names;
}

/// The node itself, or the items of a list: keys such as `variant` take one value or a list.
std::span<const Node> one_or_many(const Node& node) {
    if (const Node::Array* list = node.array()) return *list;
    return {&node, 1};
}

class LimitReader {
  public:
    explicit LimitReader(BoardDraft& draft) : draft_(draft), board_(draft.board), out_(draft.out) {}

    void read() {
        const Member* limits = find(draft_.tables, "limit");
        const Node::Array* list =
            limits ? read_list(limits->value, "limit", out_, "[[limit]], in two brackets")
                   : nullptr;
        if (!list) return;
        for (const Node& node : *list) {
            keys_ = read_table(node, "limit", out_);
            if (keys_) read_limit(node.at);
        }
    }

    /// The figure of [choose], which has no name and no bounds.
    Limit read_figure_of(const Node::Table& keys, const Position& at,
                         std::string_view measure_key) {
        keys_ = &keys;
        limit_ = {};
        limit_.at = at;
        subject_ = "choose";
        read_names("variant", variant_names(), limit_.variants);
        read_names("capsule", capsule_names(), limit_.capsules);
        read_measure(measure_key);
        if (!limit_.measure) return limit_;
        limit_.name = limit_.measure->name;
        read_arguments();
        read_knob();
        return limit_;
    }

  private:
    const Member* key(std::string_view name) const { return find(*keys_, name); }

    std::string subject(std::string_view name) const {
        return fmt::format("{}.{}", subject_, name);
    }

    void report(const Position& at, std::string code, std::string found, std::string accepted,
                std::string advice = "") {
        out_.push_back(error_at(at, std::move(code), subject_, std::move(found),
                                std::move(accepted), std::move(advice)));
    }

    void read_limit(const Position& at) {
        limit_ = {};
        limit_.at = at;
        subject_ = "limit";
        read_name();
        reject_unknown_keys(*keys_,
                            {"name", "measure", "at", "from", "to", "knob", "variant", "capsule",
                             "part", "source", "level", "min", "max", "mask"},
                            subject_, out_);
        read_names("variant", variant_names(), limit_.variants);
        read_names("capsule", capsule_names(), limit_.capsules);
        if (!key("min") && !key("max") && !key("mask")) {
            report(at, "missing-key", "'min', 'max' and 'mask' are all missing",
                   "min, max or both, or a mask");
        }
        read_measure();
        if (limit_.measure) {
            read_arguments();
            read_knob();
            read_bounds();
        }
        board_.limits.push_back(limit_);
    }

    void read_name() {
        const Member* name = key("name");
        if (!name) {
            report(limit_.at, "missing-key", "'name' is missing", "name = \"full gain\"");
            return;
        }
        const auto text = read_text(name->value, subject("name"), out_);
        if (!text) return;
        limit_.name = *text;
        subject_ = fmt::format("limit {}", quote(*text));
        const auto same = std::find_if(board_.limits.begin(), board_.limits.end(),
                                       [&](const Limit& other) { return other.name == *text; });
        if (same == board_.limits.end()) return;
        out_.push_back(error_at(limit_.at, "duplicate-limit", "limit",
                                fmt::format("a limit {} is already defined at {}:{}", quote(*text),
                                            same->at.source->path, same->at.line),
                                "", "rename one of them"));
    }

    void read_measure(std::string_view measure_key = "measure") {
        const Member* measure = key(measure_key);
        if (!measure) {
            report(limit_.at, "missing-key", "'measure' is missing", "measure = \"gain\"");
            return;
        }
        const auto name = read_text(measure->value, subject(measure_key), out_);
        if (!name) return;
        limit_.measure = find_measure_schema(*name);
        if (!limit_.measure) {
            out_.push_back(unknown_name(measure->value.at, "unknown-measure", subject(measure_key),
                                        "measure", *name, measure_names()));
        }
    }

    /// Whether the key is present and the measure takes it. A key without effect is an error,
    /// because its author expects one.
    bool takes(std::string_view name, bool taken) {
        const Member* member = key(name);
        if (!member || taken) return member != nullptr;
        report(member->at, "useless-key",
               fmt::format("measure '{}' does not depend on '{}'", limit_.measure->name, name), "",
               "delete it");
        return false;
    }

    void read_frequency(std::string_view name, bool taken, double& into) {
        if (!takes(name, taken)) return;
        into = read_figure(key(name)->value, Unit::hertz, Range::positive, subject(name), out_)
                   .value_or(into);
    }

    void read_arguments() {
        const MeasureSchema& measure = *limit_.measure;
        MeasureArguments& arguments = limit_.arguments;
        read_frequency("at", measure.takes_at, arguments.at_hz);
        read_frequency("from", measure.takes_band, arguments.band.from_hz);
        read_frequency("to", measure.takes_band, arguments.band.to_hz);
        if (!(arguments.band.from_hz < arguments.band.to_hz)) {
            report(limit_.at, "empty-band",
                   fmt::format("the band from {} to {} is empty",
                               print_quantity(arguments.band.from_hz, Unit::hertz),
                               print_quantity(arguments.band.to_hz, Unit::hertz)),
                   "'from' below 'to'; they are 20 Hz and 20 kHz if left out");
        }
        if (takes("source", measure.takes_source)) {
            arguments.source_ohm = read_figure(key("source")->value, Unit::ohm, Range::positive,
                                               subject("source"), out_)
                                       .value_or(arguments.source_ohm);
        }
        if (takes("level", measure.takes_level)) read_level(key("level")->value);
        if (takes("part", measure.takes_part))
            read_part(key("part")->value);
        else if (measure.takes_part && !key("part")) {
            report(limit_.at, "missing-key", "'part' is missing", "part = \"C1\"");
        }
    }

    void read_level(const Node& node) {
        constexpr const char* accepted =
            R"("-10 dBu" at the output, or "114 dB SPL" at the capsule)";
        const std::string* text = node.text();
        if (!text) {
            out_.push_back(error_at(node.at, "wrong-kind", subject("level"),
                                    fmt::format("this is {}", kind_of(node)), accepted));
            return;
        }
        const auto unit = unit_of_level(*text);
        if (!unit) {
            out_.push_back(error_at(
                node.at, "bad-value", subject("level"),
                fmt::format("{} does not say where the level is taken", quote(*text)), accepted));
            return;
        }
        const auto db = read_figure(node, *unit, Range::any, subject("level"), out_);
        if (db) limit_.arguments.level = {*db, *unit == Unit::db_spl};
    }

    void read_part(const Node& node) {
        const auto name = read_text(node, subject("part"), out_);
        if (!name) return;
        limit_.arguments.part = *name;
        const bool feed = find(draft_.tables, "feed") != nullptr;
        if (*name == capsule_part || (feed && *name == feed_part)) return;
        std::vector<std::string> known{std::string(capsule_part)};
        if (feed) known.emplace_back(feed_part);
        for (const Part& part : board_.parts) known.push_back(part.name);
        report_unknown_part(draft_, node.at, subject("part"), "part", *name, known);
    }

    std::vector<std::string> variant_names() const {
        std::vector<std::string> known{std::string(plain_variant)};
        for (const Variant& variant : board_.variants) known.push_back(variant.name);
        return known;
    }

    std::vector<std::string> capsule_names() const {
        std::vector<std::string> known;
        for (const auto& [name, capsule] : board_.models.capsules) known.push_back(name);
        return known;
    }

    /// Reports an empty list, which would otherwise count as a key left out.
    void reject_empty_list(std::string_view name) {
        const Member* member = key(name);
        const Node::Array* list = member ? member->value.array() : nullptr;
        if (!list || !list->empty()) return;
        out_.push_back(error_at(member->value.at, "empty-list", subject(name), "the list is empty",
                                "one or more", "without the key, the limit applies to all"));
    }

    void read_names(std::string_view what, const std::vector<std::string>& known,
                    std::vector<std::string>& into) {
        reject_empty_list(what);
        const Member* member = key(what);
        if (!member) return;
        for (const Node& node : one_or_many(member->value)) {
            const auto name = read_text(node, subject(what), out_);
            if (!name) continue;
            into.push_back(*name);
            if (std::find(known.begin(), known.end(), *name) != known.end()) continue;
            out_.push_back(unknown_name(node.at, fmt::format("unknown-{}", what), subject(what),
                                        what, *name, known));
        }
    }

    void read_knob() {
        if (!takes("knob", !limit_.measure->over_knob)) return;
        reject_empty_list("knob");
        for (const Node& node : one_or_many(key("knob")->value)) {
            const auto rotation =
                read_figure(node, Unit::fraction, Range::zero_to_one, subject("knob"), out_);
            if (rotation) limit_.knob.push_back(*rotation);
        }
    }

    double read_bound(const Node::Table& table, std::string_view name) {
        const Member* member = find(table, name);
        if (!member) return unset;
        return read_figure(member->value, limit_.measure->unit, Range::any, subject(name), out_)
            .value_or(unset);
    }

    void read_bounds() {
        limit_.min = read_bound(*keys_, "min");
        limit_.max = read_bound(*keys_, "max");
        if (limit_.min > limit_.max) {
            report(limit_.at, "empty-limit", "'min' is above 'max'", "'min' no higher than 'max'");
        }
        const Member* mask = key("mask");
        if (!mask) return;
        if (!limit_.measure->takes_at || limit_.measure->over_knob) {
            report(mask->at, "useless-key",
                   fmt::format("measure '{}' is not taken at a frequency, so it has no mask",
                               limit_.measure->name),
                   "a mask only for measures that take 'at'");
        } else if (key("min") || key("max") || key("at")) {
            report(mask->at, "two-kinds", "a mask replaces 'min', 'max' and 'at'", "",
                   "delete the mask, or the other keys");
        } else {
            read_mask(mask->value);
        }
    }

    void read_mask(const Node& value) {
        const std::size_t errors_before = out_.size();
        if (value.text())
            open_mask_file(value);
        else if (const Node::Array* rows = read_list(value, subject("mask"), out_,
                                                     R"([{ at = "20 Hz", min = "-1 dB" }, ...])")) {
            for (const Node& row : *rows) read_mask_row(row);
        }
        if (out_.size() > errors_before) return;
        const auto not_ascending = [](const MaskPoint& a, const MaskPoint& b) {
            return a.frequency_hz >= b.frequency_hz;
        };
        const auto& points = limit_.mask;
        if (points.size() >= 2 &&
            std::adjacent_find(points.begin(), points.end(), not_ascending) == points.end()) {
            return;
        }
        out_.push_back(error_at(
            value.at, "bad-mask", subject("mask"),
            points.size() < 2 ? "a mask has at least two points" : "the frequencies do not ascend",
            R"([{ at = "20 Hz", min = "-1 dB" }, ...], ascending)"));
    }

    void read_mask_row(const Node& row) {
        const Node::Table* table = read_table(row, subject("mask"), out_);
        if (!table) return;
        reject_unknown_keys(*table, {"at", "min", "max"}, subject("mask"), out_);
        const Member* at = find(*table, "at");
        if (!at) {
            out_.push_back(error_at(row.at, "missing-key", subject("mask"), "'at' is missing",
                                    "at = \"20 Hz\""));
            return;
        }
        const auto f_hz =
            read_figure(at->value, Unit::hertz, Range::positive, subject("mask"), out_);
        const double min = read_bound(*table, "min");
        const double max = read_bound(*table, "max");
        if (min > max) {
            out_.push_back(error_at(row.at, "bad-mask", subject("mask"), "'min' is above 'max'",
                                    "'min' no higher than 'max'"));
        }
        if (f_hz) limit_.mask.push_back({*f_hz, min, max});
    }

    void open_mask_file(const Node& value) {
        const std::string path = path_beside(value.at.source->path, *value.text());
        const auto source = open_source(path, draft_.reader, value.at, subject("mask"), out_);
        if (source) limit_.mask = read_mask_file(source, out_);
    }

    BoardDraft& draft_;
    Board& board_;
    Diagnostics& out_;
    const Node::Table* keys_ = nullptr;  ///< of the limit being read
    std::string subject_;
    Limit limit_;
};

}  // namespace

void read_limits(BoardDraft& draft) {
    LimitReader(draft).read();
}

Limit read_chosen_figure(BoardDraft& draft, const Node::Table& keys, const Position& at,
                         std::string_view measure_key) {
    return LimitReader(draft).read_figure_of(keys, at, measure_key);
}

void read_drift(BoardDraft& draft) {
    const Node::Table* allowances = section_of(draft, "drift");
    if (!allowances) return;
    for (const Member& member : *allowances) {
        const MeasureSchema* measure = find_measure_schema(member.key);
        if (!measure) {
            draft.out.push_back(unknown_name(member.at, "unknown-measure", "drift", "measure",
                                             member.key, measure_names()));
            continue;
        }
        const auto size = read_figure(member.value, allowance_unit(measure->unit),
                                      Range::at_least_zero, "drift." + member.key, draft.out);
        if (size) draft.board.drift.push_back({measure, {*size, measure->drift.relative}});
    }
}

}  // namespace lowhiss
