#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <boost/endian/conversion.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "lowhiss/text/utf8.hpp"
#include "shard/series_result.hpp"
#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

// Sorted keys: nlohmann's ordered kind searches linearly for each key, which is quadratic in the
// million keys of a hostile file.
using SortedJson = nlohmann::json;

/// Room for the most numbers of a series, and for names of the size that the files of a board may
/// have.
constexpr std::uintmax_t largest_file =
    static_cast<std::uintmax_t>(8 * most_values) + 2 * most_file_bytes;
constexpr std::size_t deepest = 8;
constexpr std::size_t most_items = 1'000'000;
constexpr std::size_t most_boards = 1'000'000;

/// Walks through a file without storing it, and stops if it is nested deeper or has more items than
/// any result.
class Bounds : public nlohmann::json_sax<SortedJson> {
  public:
    bool null() override { return item(); }
    bool boolean(bool) override { return item(); }
    bool number_integer(number_integer_t) override { return item(); }
    bool number_unsigned(number_unsigned_t) override { return item(); }
    bool number_float(number_float_t, const string_t&) override { return item(); }
    bool string(string_t&) override { return item(); }
    bool binary(binary_t&) override { return item(); }
    bool key(string_t&) override { return true; }
    bool start_object(std::size_t) override { return ++depth_ <= deepest && item(); }
    bool start_array(std::size_t) override { return ++depth_ <= deepest && item(); }
    bool end_object() override { return depth_-- > 0; }
    bool end_array() override { return depth_-- > 0; }
    bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) override {
        return false;
    }

  private:
    bool item() { return ++items_ <= most_items; }

    std::size_t depth_ = 0;
    std::size_t items_ = 0;
};

[[noreturn]] void refuse(const std::string& path, const std::string& found) {
    throw UsageError(fmt::format(
        "'{}' {}; accepted: a file written by 'lowhiss tolerance --result'", path, found));
}

/// Whether the last bytes of the file are the checksum of all before them.
bool sum_fits(std::istream& stream, std::uintmax_t size) {
    Checksum sum;
    std::vector<char> piece(1U << 16U);
    for (std::uintmax_t left = size - checksum_bytes; left > 0 && stream;) {
        const auto count =
            static_cast<std::streamsize>(std::min<std::uintmax_t>(left, piece.size()));
        stream.read(piece.data(), count);
        sum.add({piece.data(), static_cast<std::size_t>(count)});
        left -= static_cast<std::uintmax_t>(count);
    }
    std::array<unsigned char, checksum_bytes> found{};
    stream.read(reinterpret_cast<char*>(found.data()), found.size());
    constexpr unsigned whole_number = 0xCF;
    return stream && found[0] == whole_number &&
           boost::endian::load_big_u64(&found[1]) == sum.value();
}

/// Reads the stream several times, since a copy in memory may take a gigabyte.
SortedJson document_of(const std::string& path) {
    if (const auto obstacle = obstacle_to_reading(path, largest_file)) {
        throw UsageError(fmt::format("cannot read '{}': {}", path, obstacle->reason));
    }
    std::ifstream stream(path, std::ios::binary);
    std::error_code error;
    const std::uintmax_t size = std::filesystem::file_size(path, error);
    if (!stream || error) {
        throw UsageError(fmt::format("cannot read '{}': check its permissions", path));
    }
    if (size == 0) refuse(path, "is empty");
    // A map begins with one of these bytes.
    const auto lead = static_cast<unsigned>(stream.peek());
    if ((lead & 0xF0U) != 0x80U && lead != 0xDEU && lead != 0xDFU) {
        refuse(path, "is not a result of a tolerance run");
    }
    if (size <= checksum_bytes || !sum_fits(stream, size)) {
        refuse(
            path,
            "is truncated or damaged, or not a result of a tolerance run: its checksum is wrong");
    }
    stream.seekg(0);
    Bounds bounds;
    if (!SortedJson::sax_parse(stream, &bounds, SortedJson::input_format_t::msgpack, false)) {
        refuse(path, "is not a result of a tolerance run");
    }
    stream.clear();
    stream.seekg(0);
    SortedJson document = SortedJson::from_msgpack(stream, false);
    if (static_cast<std::uintmax_t>(stream.tellg()) != size - checksum_bytes) {
        refuse(path, "is not a result of a tolerance run");
    }
    return document;
}

/// A map of the file; members are read by name and kind, numbers once: their bytes are freed.
class Fields {
  public:
    Fields(SortedJson& json, const std::string& path) : json_(json), path_(path) {
        if (!json.is_object()) refuse(path, "is damaged: it lacks a table");
    }

    std::string text(const char* key) const {
        return of_kind(key, "a text", &SortedJson::is_string).get<std::string>();
    }
    /// A name that stood in a board, where it has no characters that control a terminal.
    std::string name(const char* key) const {
        std::string found = text(key);
        if (printable(found) != found) wrong(key, "a name that a board can have");
        return found;
    }
    bool truth(const char* key) const {
        return of_kind(key, "true or false", &SortedJson::is_boolean).get<bool>();
    }
    std::uint64_t whole(const char* key) const {
        return of_kind(key, "a whole number", &SortedJson::is_number_unsigned).get<std::uint64_t>();
    }
    std::size_t whole(const char* key, std::size_t least, std::size_t most) const {
        const std::uint64_t value = whole(key);
        if (value < least || value > most) {
            wrong(key, fmt::format("from {} to {}", least, most));
        }
        return value;
    }
    SortedJson& list(const char* key) const {
        return of_kind(key, "a list", &SortedJson::is_array);
    }
    SortedJson& member(const char* key) const {
        return of_kind(key, "a table", &SortedJson::is_object);
    }
    std::vector<double> doubles(const char* key, std::size_t count) const {
        const auto bytes = std::move(of_kind(key, "numbers", &SortedJson::is_binary).get_binary());
        if (bytes.size() != 8 * count) wrong(key, fmt::format("{} numbers", count));
        std::vector<double> values(count);
        for (std::size_t k = 0; k < count; ++k) {
            values[k] = std::bit_cast<double>(boost::endian::load_little_u64(&bytes[8 * k]));
        }
        return values;
    }

    std::string bytes(const char* key) const {
        const auto& bytes = of_kind(key, "bytes", &SortedJson::is_binary).get_binary();
        return {bytes.begin(), bytes.end()};
    }

    [[noreturn]] void wrong(const char* key, const std::string& wanted) const {
        refuse(path_, fmt::format("is damaged: '{}' is not {}", key, wanted));
    }

  private:
    SortedJson& of_kind(const char* key, const char* kind,
                        bool (SortedJson::*is)() const noexcept) const {
        const auto found = json_.find(key);
        if (found == json_.end() || !((*found).*is)()) wrong(key, kind);
        return *found;
    }

    SortedJson& json_;
    const std::string& path_;
};

std::string part_name(const SortedJson& json, const std::string& path) {
    const auto* name = json.get_ptr<const std::string*>();
    if (name == nullptr || printable(*name) != *name) {
        refuse(path, "is damaged: the name of a part is not one that a board can have");
    }
    return *name;
}

Verdict verdict_from(const Fields& fields, const std::string& path) {
    Verdict v;
    v.limit = fields.name("limit");
    v.measure = fields.text("measure");
    const MeasureRecord* measure = find_measure(v.measure);
    if (measure == nullptr) fields.wrong("measure", "known to this version of lowhiss");
    v.unit = measure->unit;
    v.variant = fields.name("variant");
    v.capsule = fields.name("capsule");
    v.reason = printable(fields.text("reason"));
    v.is_mask = fields.truth("mask");
    for (const SortedJson& part : fields.list("look_at")) {
        v.look_at.push_back(part_name(part, path));
    }
    const std::vector<double> nominal = fields.doubles("nominal", 7);
    v.knob = nominal[0];
    v.value = nominal[1];
    v.at_hz = nominal[2];
    v.min = nominal[3];
    v.max = nominal[4];
    v.margin = nominal[5];
    v.margin_db = nominal[6];
    v.outcome = !fields.truth("known") ? Outcome::not_known
                : !v.reason.empty()    ? Outcome::not_computed
                : v.margin >= 0        ? Outcome::pass
                                       : Outcome::fail;
    return v;
}

LimitEffects effects_from(const Fields& fields, const std::string& path) {
    constexpr auto last_kind = static_cast<std::size_t>(DrawKind::spread);
    LimitEffects result;
    SortedJson& draws = fields.list("draws");
    const std::vector<double> ends = fields.doubles("moves", 5 * draws.size());
    for (std::size_t k = 0; k < draws.size(); ++k) {
        const Fields draw(draws[k], path);
        const auto kind = static_cast<DrawKind>(draw.whole("kind", 0, last_kind));
        const double* const of = &ends[5 * k];
        result.effects.push_back({{kind, draw.name("name"), of[3], of[4]}, of[0], of[1], of[2]});
    }
    return result;
}

Figure figure_from(const Fields& fields) {
    const std::string name = fields.text("figure");
    const auto all = standard_figures();
    const auto known = std::find_if(
        all.begin(), all.end(), [&](const StandardFigure& figure) { return figure.name == name; });
    if (known == all.end()) fields.wrong("figure", "known to this version of lowhiss");
    const std::vector<double> nominal = fields.doubles("nominal", 2);
    return {fields.name("variant"),
            fields.name("capsule"),
            nominal[0],
            &*known,
            nominal[1],
            printable(fields.text("trouble")),
            false,
            fields.truth("best_case")};
}

PlacedFault fault_from(const Fields& fields) {
    PlacedFault placed;
    const std::string name = fields.text("fault");
    const auto all = fault_schemas();
    const auto known = std::find_if(all.begin(), all.end(),
                                    [&](const FaultSchema& schema) { return schema.name == name; });
    if (known == all.end()) fields.wrong("fault", "known to this version of lowhiss");
    placed.fault = {fields.name("part"), known->kind, printable(fields.text("text")), unset};
    placed.supply = fields.name("supply");
    placed.knob = fields.doubles("knob", 1).front();
    placed.at_every_end = fields.truth("every_end");
    placed.at_every_knob = fields.truth("every_knob");
    return placed;
}

/// `with_text`: of shard 1.
SourceFile source_from(const Fields& fields, const std::string& path, bool with_text) {
    SourceFile file{fields.text("path"), fields.whole("crc64"), ""};
    if (!with_text) return file;
    file.text = fields.bytes("text");
    if (crc_of(file.text) != file.crc) {
        refuse(path, fmt::format("is damaged: the text of '{}' has another checksum", file.path));
    }
    return file;
}

SeriesRun run_from(const Fields& fields, const std::string& path) {
    SeriesRun run;
    run.version = fields.name("version");
    const bool with_text = fields.whole("shard") == 1;
    for (SortedJson& entry : fields.list("files")) {
        run.files.push_back(source_from(Fields(entry, path), path, with_text));
    }
    run.variant = fields.name("variant");
    for (const SortedJson& text : fields.list("set")) {
        const auto* altered = text.get_ptr<const std::string*>();
        if (altered == nullptr) fields.wrong("set", "a list of alterations, as R5=15R");
        run.set.push_back(*altered);
    }
    run.series = {fields.whole("seed"),
                  fields.truth("normal") ? Distribution::normal : Distribution::uniform};
    run.first = fields.whole("first");
    run.boards = fields.whole("boards", 1, most_boards);
    return run;
}

}  // namespace

SeriesResult read_result(const std::string& path) {
    SortedJson document = document_of(path);
    const Fields fields(document, path);
    if (fields.text("format") != series_format) {
        fields.wrong("format",
                     fmt::format("{}, which this version of lowhiss reads", series_format));
    }
    SeriesResult result;
    result.run = run_from(fields, path);
    result.shard.of = fields.whole("shards", 1, result.run.boards);
    result.shard.number = fields.whole("shard", 1, result.shard.of);
    result.path = fields.text("path");
    result.board = fields.name("board");
    result.revision = fields.name("revision");
    result.capsule = fields.name("capsule");
    const std::vector<double> range_k = fields.doubles("temperature_range_k", 2);
    if (std::isfinite(range_k[0])) result.temperature_range = {range_k[0], range_k[1]};
    const Stretch stretch = stretch_of(result.run, result.shard);
    const std::size_t done = fields.whole("done", 1, stretch.count);
    result.values.first = stretch.first;
    result.values.count = done;
    for (const SortedJson& index : fields.list("without_solution")) {
        const bool within = index.is_number_unsigned() &&
                            index.get<std::uint64_t>() >= stretch.first &&
                            index.get<std::uint64_t>() - stretch.first < done;
        if (!within) fields.wrong("without_solution", "a list of boards of the shard");
        result.values.without_solution.push_back(index.get<std::uint64_t>());
    }
    result.values.why_without = printable(fields.text("why_without"));
    for (SortedJson& entry : fields.list("limits")) {
        const Fields limit(entry, path);
        result.nominal.verdicts.push_back(verdict_from(limit, path));
        result.values.limits.push_back(
            {limit.doubles("values", done), limit.doubles("margins", done)});
        if (result.shard.number != 1) continue;
        result.effects.push_back(effects_from(Fields(limit.member("effects"), path), path));
    }
    for (SortedJson& entry : fields.list("supply_faults")) {
        result.nominal.faults.push_back(fault_from(Fields(entry, path)));
    }
    result.values.faults = fields.doubles("faults", done);
    for (const SortedJson& part : fields.list("parts")) {
        result.slopes.parts.push_back(part_name(part, path));
    }
    std::size_t points = 0;
    for (SortedJson& entry : fields.list("figures")) {
        const Fields figure(entry, path);
        result.nominal.figures.push_back(figure_from(figure));
        result.values.figures.push_back(figure.doubles("values", done));
        if (result.shard.number == 1) {
            const std::size_t parts = result.slopes.parts.size();
            result.slopes.per_percent.push_back(figure.doubles("per_percent", parts));
        }
        points += figure.text("figure") == "gain" ? response_grid_hz().size() : 0;
    }
    result.nominal.response_db = fields.doubles("nominal_db", points);
    result.values.least_db = fields.doubles("least_db", points);
    result.values.most_db = fields.doubles("most_db", points);
    return result;
}

}  // namespace lowhiss::cli
