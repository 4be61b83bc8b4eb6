#include "lowhiss/promise/limit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/promise/mask_file.hpp"
#include "lowhiss/text/open.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

std::vector<std::string> measure_names() {
    std::vector<std::string> names;
    for (const MeasureSchema& schema : measure_schemas()) names.emplace_back(schema.name);
    return names;
}

class LimitReader {
  public:
    LimitReader(const LimitEntry& entry, const Board& board, const FileReader& reader,
                Diagnostics& out)
        : entry_(entry),
          subject_("limit '" + entry.name + "'"),
          board_(board),
          reader_(reader),
          out_(out) {}

    Limit read() {
        limit_.name = entry_.name;
        limit_.at = entry_.at;
        read_measure();
        if (!limit_.measure) return limit_;
        read_arguments();
        read_names("variant", variant_names(), limit_.variants);
        read_names("capsule", capsule_names(), limit_.capsules);
        read_knob();
        read_bounds();
        return limit_;
    }

  private:
    const Member* key(std::string_view name) const { return find(entry_.keys, name); }

    std::string subject(std::string_view name) const {
        return fmt::format("{}.{}", subject_, name);
    }

    void read_measure() {
        const Member* measure = key("measure");
        const std::string* name = measure ? measure->value.text() : nullptr;
        if (!name) return;  // reported when the board was read
        limit_.measure = find_measure_schema(*name);
        if (!limit_.measure) {
            out_.push_back(unknown_name(measure->value.at, "unknown-measure", subject("measure"),
                                        "measure", *name, measure_names()));
        }
    }

    /// A key that the measure has no use for is a misunderstanding worth an error.
    bool takes(std::string_view name, bool taken) {
        const Member* member = key(name);
        if (!member || taken) return member != nullptr;
        out_.push_back(error_at(
            member->at, "useless-key", subject_,
            fmt::format("measure '{}' does not depend on '{}'", limit_.measure->name, name), "",
            "leave it out"));
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
            out_.push_back(error_at(entry_.at, "empty-band", subject_,
                                    "'from' is not lower than 'to'", "from below to"));
        }
        if (takes("part", measure.takes_part))
            read_part(key("part")->value);
        else if (measure.takes_part && !key("part")) {
            out_.push_back(error_at(entry_.at, "missing-key", subject_, "'part' is missing",
                                    "part = \"C1\", the part that is meant"));
        }
    }

    void read_part(const Node& node) {
        const auto name = read_text(node, subject("part"), out_);
        if (!name) return;
        limit_.arguments.part = *name;
        if (find_part(board_, *name) || *name == capsule_part) return;
        if (board_.feed && *name == feed_part) return;
        std::vector<std::string> known{std::string(capsule_part)};
        if (board_.feed) known.emplace_back(feed_part);
        for (const Part& part : board_.parts) known.push_back(part.name);
        out_.push_back(
            unknown_name(node.at, "unknown-part", subject("part"), "part", *name, known));
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

    /// A name or a list of names.
    void read_names(std::string_view what, const std::vector<std::string>& known,
                    std::vector<std::string>& into) {
        const Member* member = key(what);
        if (!member) return;
        const Node::Array one{member->value};
        for (const Node& node : member->value.array() ? *member->value.array() : one) {
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
        const Node& value = key("knob")->value;
        const Node::Array one{value};
        for (const Node& node : value.array() ? *value.array() : one) {
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
        limit_.min = read_bound(entry_.keys, "min");
        limit_.max = read_bound(entry_.keys, "max");
        if (limit_.min > limit_.max) {
            out_.push_back(error_at(entry_.at, "empty-limit", subject_, "'min' is above 'max'",
                                    "min below max"));
        }
        const Member* mask = key("mask");
        if (!mask) return;
        if (!limit_.measure->takes_at || limit_.measure->over_knob) {
            out_.push_back(error_at(mask->at, "useless-key", subject_,
                                    fmt::format("measure '{}' is no curve", limit_.measure->name),
                                    "a mask for a measure that is taken at a frequency"));
        } else if (key("min") || key("max") || key("at")) {
            out_.push_back(error_at(mask->at, "two-kinds", subject_,
                                    "a mask stands instead of min, max and at"));
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
        if (f_hz)
            limit_.mask.push_back({*f_hz, read_bound(*table, "min"), read_bound(*table, "max")});
    }

    /// Columns frequency_hz, min, max in the measure's unit; an empty field is no bound.
    void open_mask_file(const Node& value) {
        const std::string path = path_beside(value.at.source->path, *value.text());
        const auto source = open_source(path, reader_, value.at, subject("mask"), out_);
        if (!source) return;
        limit_.mask = read_mask_file(source, out_);
    }

    const LimitEntry& entry_;
    std::string subject_;
    const Board& board_;
    const FileReader& reader_;
    Diagnostics& out_;
    Limit limit_;
};

}  // namespace

std::vector<Limit> read_limits(const Board& board, const FileReader& reader, Diagnostics& out) {
    const FileReader within = within_budget(reader);
    std::vector<Limit> limits;
    for (const LimitEntry& entry : board.limits) {
        limits.push_back(LimitReader(entry, board, within, out).read());
    }
    return limits;
}

}  // namespace lowhiss
