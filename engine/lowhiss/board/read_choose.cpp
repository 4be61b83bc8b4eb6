#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/board/choose.hpp"
#include "lowhiss/board/labels.hpp"
#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/phrase.hpp"
#include "lowhiss/quantity/preferred.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr const char* forms_of_open_value =
    "a series as \"E24\", a list as [\"12R\", \"15R\"], or "
    "{ series = \"E6\", from = \"47u\", to = \"1000u\" }";

/// A series alone reaches from a tenth of the drawn value to ten times it.
constexpr double usual_reach = 10;

constexpr std::size_t most_values = 2000;

class ChooseReader {
  public:
    explicit ChooseReader(BoardDraft& draft)
        : draft_(draft), board_(draft.board), out_(draft.out) {}

    void read() {
        const Member* section = find(draft_.tables, "choose");
        const Node::Table* keys = section ? section_of(draft_, "choose") : nullptr;
        if (!keys) return;
        read_aim(*keys, section->at);
        read_open_values(*keys, section->at);
        read_ties(*keys);
        if (!has_errors(out_)) {
            board_.choose = std::make_shared<const Choose>(std::move(choose_));
        }
    }

  private:
    void read_aim(const Node::Table& keys, const Position& at) {
        const Member* least = find(keys, "least");
        const Member* most = find(keys, "most");
        if (least && most) {
            out_.push_back(error_at(most->at, "two-kinds", "choose",
                                    "'least' and 'most' exclude each other", "one of the two"));
            return;
        }
        const std::vector<std::string> arguments{"at",    "from", "to",      "part",   "source",
                                                 "level", "knob", "variant", "capsule"};
        std::vector<std::string> accepted{"least", "most", "parts", "tied"};
        if (least || most) {
            choose_.aim = least ? Choose::Aim::least : Choose::Aim::most;
            choose_.figure = read_chosen_figure(draft_, keys, at, least ? "least" : "most");
            accepted.insert(accepted.end(), arguments.begin(), arguments.end());
        } else {
            require_two_sided_limit(at);
            for (const std::string& key : arguments) {
                if (const Member* member = find(keys, key)) {
                    out_.push_back(error_at(member->at, "useless-key", "choose",
                                            fmt::format("'{}' needs 'least' or 'most'", key), "",
                                            "name a measure, or delete it"));
                    accepted.push_back(key);
                }
            }
        }
        reject_unknown_keys(keys, accepted, "choose", out_);
    }

    void require_two_sided_limit(const Position& at) {
        const bool any =
            std::any_of(board_.limits.begin(), board_.limits.end(), [](const Limit& limit) {
                return !limit.mask.empty() ||
                       (std::isfinite(limit.min) && std::isfinite(limit.max));
            });
        if (any) return;
        out_.push_back(error_at(at, "missing-key", "choose",
                                "there is no 'least' or 'most', and no limit with both 'min' and "
                                "'max'",
                                "least = \"ein\", most = \"high_corner\", or a limit to be met in "
                                "its middle"));
    }

    void read_open_values(const Node::Table& keys, const Position& at) {
        const Member* parts = find(keys, "parts");
        const Node::Table* entries =
            parts ? read_table(parts->value, "choose.parts", out_, "[choose.parts]") : nullptr;
        if (parts && !entries) return;
        if (!entries || entries->empty()) {
            out_.push_back(error_at(at, "missing-key", "choose", "no part is open",
                                    "[choose.parts] with R4 = \"E24\""));
            return;
        }
        for (const Member& entry : *entries) read_open_value(entry);
    }

    void read_open_value(const Member& entry) {
        const std::string subject = "choose.parts." + entry.key;
        const Part* part = find_part(board_, entry.key);
        if (!part) {
            report_unknown_part(draft_, entry.at, "choose.parts", "part", entry.key,
                                part_names(board_));
            return;
        }
        const PartSchema& schema = schema_of(*part);
        if (schema.main == MainValue::figures) {
            out_.push_back(error_at(entry.at, "wrong-kind", subject,
                                    with_article(schema.keyword) + " has no single value",
                                    "a part with one main value, a model or a state"));
            return;
        }
        OpenValue open;
        open.parts.push_back(member_of(*part));
        open.changes_structure = schema.main != MainValue::figure;
        if (const Node::Array* list = entry.value.array())
            read_list_of_values(*list, entry, *part, open);
        else
            read_series(entry.value, subject, *part, open);
        if (!open.values.empty()) choose_.open.push_back(std::move(open));
    }

    OpenValue::Member member_of(const Part& part) const {
        OpenValue::Member member{part.name, {}};
        const Member* entry = find(*draft_.part_entries, part.name);
        if (entry && entry->value.table()) member.entry = *entry->value.table();
        const Member* variants = find(draft_.tables, "variants");
        const Node::Table none;
        const Node::Table* named = variants ? variants->value.table() : nullptr;
        for (const Member& variant : named ? *named : none) {
            const Node::Table* keys = variant.value.table();
            const Member* set = keys ? find(*keys, "set") : nullptr;
            const Node::Table* changes = set ? set->value.table() : nullptr;
            const Member* change = changes ? find(*changes, part.name) : nullptr;
            if (!change) continue;
            const Node::Table* changed = change->value.table();
            if (!changed || find(*changed, schema_of(part).keyword)) {
                member.own_variants.push_back(variant.key);
            }
        }
        return member;
    }

    void read_list_of_values(const Node::Array& list, const Member& entry, const Part& part,
                             OpenValue& open) {
        const std::string subject = "choose.parts." + entry.key;
        if (list.empty()) {
            out_.push_back(error_at(entry.value.at, "empty-list", subject, "the list is empty",
                                    "one value or more"));
        }
        for (const Node& node : list) {
            if (node.table() || node.array()) {
                out_.push_back(error_at(node.at, "wrong-kind", subject,
                                        fmt::format("this is {}", kind_of(node)), "a value"));
                continue;
            }
            const std::size_t before = out_.size();
            const Part changed = changed_part(draft_, part, {entry.key, node.at, node});
            if (std::any_of(out_.begin() + static_cast<std::ptrdiff_t>(before), out_.end(),
                            [](const Diagnostic& d) { return d.severity == Severity::error; })) {
                continue;
            }
            add(changed, node.at, subject, open);
        }
    }

    void add(const Part& changed, const Position& at, const std::string& subject, OpenValue& open) {
        std::string text = value_text(changed);
        if (std::find(open.values.begin(), open.values.end(), text) != open.values.end()) {
            out_.push_back(error_at(at, "value-twice", subject,
                                    fmt::format("{} is listed twice", text), "each value once"));
            return;
        }
        const PartSchema& schema = schema_of(changed);
        if (schema.main == MainValue::figure) {
            PartData data = changed.data;
            if (schema.fields.front().slot(data) == 0) open.changes_structure = true;
        }
        open.values.push_back(std::move(text));
        open.data.push_back(changed.data);
    }

    void read_series(const Node& node, const std::string& subject, const Part& part,
                     OpenValue& open) {
        const PartSchema& schema = schema_of(part);
        if (schema.main != MainValue::figure) {
            out_.push_back(error_at(
                node.at, "wrong-kind", subject, fmt::format("this is {}", kind_of(node)),
                schema.main == MainValue::state ? R"(a list: ["open", "closed"])"
                                                : R"(a list of models: ["ne5532", "opa2134"])"));
            return;
        }
        const auto& field = schema.fields.front();
        PartData data = part.data;
        const double drawn = field.slot(data);
        double from = drawn / usual_reach;
        double to = drawn * usual_reach;
        const Node* series = &node;
        if (const Node::Table* keys = node.table()) {
            reject_unknown_keys(*keys, {"series", "from", "to"}, subject, out_);
            const Member* named = find(*keys, "series");
            if (!named) {
                out_.push_back(error_at(node.at, "missing-key", subject, "'series' is missing",
                                        "series = \"E24\""));
                return;
            }
            series = &named->value;
            read_end(*keys, "from", field.unit, subject, from);
            read_end(*keys, "to", field.unit, subject, to);
        }
        const std::string* name = series->text();
        if (!name) {
            out_.push_back(error_at(series->at, "wrong-kind", subject,
                                    fmt::format("this is {}", kind_of(*series)),
                                    forms_of_open_value));
            return;
        }
        const auto known = preferred_series();
        if (std::find(known.begin(), known.end(), *name) == known.end()) {
            out_.push_back(error_at(series->at, "unknown-series", subject,
                                    fmt::format("there is no series {}", quote(*name)),
                                    fmt::format("{}; or {}", listed(known), forms_of_open_value),
                                    did_you_mean(*name, known)));
            return;
        }
        if (!(to >= from)) {
            out_.push_back(error_at(node.at, "empty-range", subject, "'from' is above 'to'",
                                    "'from' no higher than 'to'"));
            return;
        }
        fill(*name, from, to, node.at, subject, part, open);
    }

    void read_end(const Node::Table& keys, const char* key, Unit unit, const std::string& subject,
                  double& end) {
        const Member* member = find(keys, key);
        if (!member) return;
        end = read_figure(member->value, unit, Range::positive, fmt::format("{}.{}", subject, key),
                          out_)
                  .value_or(end);
    }

    void fill(const std::string& series, double from, double to, const Position& at,
              const std::string& subject, const Part& part, OpenValue& open) {
        const auto& field = schema_of(part).fields.front();
        const std::vector<double> values = preferred_values(series, from, to);
        const auto range = [&] {
            return fmt::format("{} to {}", print_quantity(from, field.unit, 4),
                               print_quantity(to, field.unit, 4));
        };
        if (values.empty() || values.size() > most_values) {
            out_.push_back(error_at(at, "empty-range", subject,
                                    fmt::format("{} has {} values from {}", series,
                                                values.empty() ? "no" : "too many", range()),
                                    fmt::format("1 to {} values", most_values),
                                    "another range, or another series"));
            return;
        }
        for (const double value : values) {
            Part changed = part;
            field.slot(changed.data) = value;
            add(changed, at, subject, open);
        }
    }

    void read_ties(const Node::Table& keys) {
        const Member* tied = find(keys, "tied");
        const Node::Array* list = tied ? read_list(tied->value, "choose.tied", out_,
                                                   R"([[choose.tied]] with parts = ["R4", "R5"])")
                                       : nullptr;
        if (!list) return;
        for (const Node& node : *list) read_tie(node);
    }

    void read_tie(const Node& node) {
        const std::string subject = "choose.tied";
        const Node::Table* keys = read_table(node, subject, out_);
        if (!keys) return;
        reject_unknown_keys(*keys, {"parts"}, subject, out_);
        const Member* member = find(*keys, "parts");
        const Node::Array* list =
            member ? read_list(member->value, subject + ".parts", out_, R"(a list: ["R4", "R5"])")
                   : nullptr;
        if (!member) {
            out_.push_back(error_at(node.at, "missing-key", subject, "'parts' is missing",
                                    R"(parts = ["R4", "R5"])"));
        }
        if (!list) return;
        std::vector<const Part*> parts;
        for (const Node& each : *list) {
            const auto name = read_text(each, subject + ".parts", out_);
            if (!name) return;
            const Part* part = find_part(board_, *name);
            if (!part) {
                report_unknown_part(draft_, each.at, subject, "part", *name, part_names(board_));
                return;
            }
            parts.push_back(part);
        }
        tie(parts, member->value.at);
    }

    OpenValue* open_value_of(const std::string& part) {
        for (OpenValue& open : choose_.open) {
            for (const OpenValue::Member& member : open.parts) {
                if (member.part == part) return &open;
            }
        }
        return nullptr;
    }

    void tie(const std::vector<const Part*>& parts, const Position& at) {
        OpenValue* open = nullptr;
        std::size_t listed = 0;
        for (const Part* part : parts) {
            if (OpenValue* its = open_value_of(part->name)) {
                open = its;
                ++listed;
            }
        }
        if (parts.size() < 2 || listed != 1) {
            out_.push_back(error_at(
                at, "bad-tie", "choose.tied",
                parts.size() < 2 ? "a tie has two parts or more"
                : listed == 0    ? "none of these parts is in [choose.parts]"
                                 : "more than one of these parts has a value of its own to choose",
                "one part of [choose.parts], with others that are to have its value"));
            return;
        }
        for (const Part* part : parts) {
            if (open_value_of(part->name)) continue;
            const Part* first = find_part(board_, open->parts.front().part);
            if (&schema_of(*first) != &schema_of(*part)) {
                out_.push_back(
                    error_at(at, "bad-tie", "choose.tied",
                             fmt::format("{} is {} and {} {}", first->name,
                                         with_article(schema_of(*first).keyword), part->name,
                                         with_article(schema_of(*part).keyword)),
                             "parts of one kind"));
                return;
            }
            open->parts.push_back(member_of(*part));
        }
    }

    BoardDraft& draft_;
    Board& board_;
    Diagnostics& out_;
    Choose choose_;
};

}  // namespace

double sets_of(const Choose& choose) {
    double sets = 1;
    for (const OpenValue& open : choose.open) sets *= static_cast<double>(open.values.size());
    return sets;
}

void take_main_value(const PartData& from, Part& to) {
    PartData source = from;
    if (std::string* model = model_name(to.data)) {
        *model = *model_name(source);
    } else if (auto* link = std::get_if<Link>(&to.data)) {
        link->closed = std::get<Link>(source).closed;
    } else {
        const auto& field = schema_of(to).fields.front();
        field.slot(to.data) = field.slot(source);
    }
}

void read_choose(BoardDraft& draft) {
    ChooseReader(draft).read();
}

}  // namespace lowhiss
