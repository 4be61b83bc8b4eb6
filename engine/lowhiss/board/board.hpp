#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "lowhiss/board/feed.hpp"
#include "lowhiss/board/limit.hpp"
#include "lowhiss/board/model.hpp"
#include "lowhiss/text/document.hpp"
#include "lowhiss/text/file_reader.hpp"

namespace lowhiss {

/// The two terminals that the capsule is soldered to.
struct Input {
    Pin plus;
    Pin minus;
    std::string capsule;  ///< empty: an ideal source
    Position capsule_at;
    double mismatch_ohm = 0;  ///< one leg's more than the other's, when both are driven together
};

struct Output {
    Pin plus;
    Pin minus;
    double load_ohm = infinite;
    double cable_f = 0;
};

struct Knob {
    std::vector<std::string> parts;  ///< more than one: ganged
    std::vector<double> positions;   ///< fraction of rotation, 0 = fully counter-clockwise
};

/// One way of assembling the board: the parts that differ, whole, and perhaps another capsule.
struct Variant {
    std::string name;
    std::string summary;
    std::string capsule;  ///< empty: the board's own
    std::vector<Part> changed;
    bool without_feed = false;
};

/// What rides on a supply: single lines, and a density over all frequencies.
struct Ripple {
    struct Line {
        double frequency_hz;
        double rms_v;
    };
    std::string name;
    std::string source;  ///< the part whose voltage carries it, or "feed"
    std::vector<Line> lines;
    double density_v_rthz = 0;
    Position at;
};

/// Parts that come off one reel or in one array: their values stray together, and from each other
/// by no more than `within`, as a fraction.
struct Matched {
    std::string name;
    std::vector<std::string> parts;
    double within = 0;
};

/// Where the board is used.
struct TemperatureRange {
    double low_k;
    double high_k;
};

struct Board {
    std::string name;
    std::string revision;
    std::string ground = "gnd";
    double temperature_k = 293.15;
    std::optional<TemperatureRange> temperature_range;  ///< of a tolerance run
    std::vector<Part> parts;
    Input input;
    Output output;
    std::optional<Knob> knob;
    std::optional<Feed> feed;
    std::vector<Ripple> ripples;
    std::vector<Variant> variants;
    std::vector<Matched> matched;
    std::vector<Limit> limits;
    std::vector<Allowance> drift;
    Models models;
    std::string path;
};

const Part* find_part(const Board& board, std::string_view name);
const Variant* find_variant(const Board& board, std::string_view name);

// As asked for by a user: null for the empty name, which is the plain board or an ideal source;
// throw Error (unusable_input), with the nearest name, for one that the board does not know.
const Variant* variant_named(const Board& board, const std::string& name);
const Capsule* capsule_named(const Board& board, const std::string& name);

/// How far the measure's figures may move from a baseline: what [drift] says, or else its schema.
Drift drift_allowed(const Board& board, const MeasureSchema& measure);

/// The board with a variant's changes made; a null variant is the plain board.
Board with_variant(const Board& board, const Variant* variant);

struct BoardReading {
    std::optional<Board> board;  ///< present when nothing worse than a warning was found
    Diagnostics diagnostics;
};

/// Reads a board file with all that it is based on and includes. Every mistake found is in
/// `diagnostics`, sorted as they stand in the files; a syntax error ends the file it is in. What no
/// board needs is refused before it takes memory or time: more than `most_file_bytes`, lists and
/// tables of more than 2000 entries, limits times assemblies times knob positions over 50,000.
BoardReading read_board(const std::string& path, const FileReader& reader);

}  // namespace lowhiss
