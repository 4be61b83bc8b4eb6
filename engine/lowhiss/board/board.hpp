#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "lowhiss/board/accepted_fault.hpp"
#include "lowhiss/board/choose.hpp"
#include "lowhiss/board/feed.hpp"
#include "lowhiss/board/limit.hpp"
#include "lowhiss/board/model.hpp"
#include "lowhiss/text/document.hpp"
#include "lowhiss/text/file_reader.hpp"

namespace lowhiss {

/// The two terminals that the capsule is connected to.
struct Input {
    Pin plus;
    Pin minus;
    std::string capsule;  ///< empty: an ideal source
    Position capsule_at;
    double mismatch_ohm = 0;  ///< extra source resistance of one leg, for common-mode figures
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

/// One way of assembling the board: the parts that differ, each as a whole, and perhaps another
/// capsule or phantom feed.
struct Variant {
    std::string name;
    std::string summary;
    std::string capsule;  ///< empty: the board's own
    std::vector<Part> changed;
    bool without_feed = false;
    std::optional<Feed> feed;  ///< in place of the board's, at the same terminals
};

/// Ripple and noise on a supply: spectral lines, and a white density.
struct Ripple {
    struct Line {
        double frequency_hz;
        double rms_v;
    };
    std::string name;
    std::string source;  ///< the part with the ripple on its voltage, or "feed"
    std::vector<Line> lines;
    double density_v_rthz = 0;
    Position at;
};

/// Parts of one reel or array: they share a common deviation, and each is within `within`, a
/// fraction, of their common value.
struct Matched {
    std::string name;
    std::vector<std::string> parts;
    double within = 0;
};

/// The ambient temperatures that the board is used at.
struct TemperatureRange {
    double low_k;
    double high_k;
};

/// The pin of a device on the printed board that a terminal, or a pin of a part that is off the
/// board, is connected to.
struct OffBoard {
    std::string part;     ///< empty: a terminal, such as `input.plus`
    std::size_t pin = 0;  ///< of the part
    std::string node;     ///< of a terminal
    std::string device;   ///< "J1", on the board
    std::string number;   ///< "2", of the device's pin
    Position at;
};

/// A device that is on the printed board on purpose and is not drawn here, or one pin of it.
struct NotSimulated {
    std::string device;
    std::string pin;  ///< empty: the whole device
    Position at;
};

struct Board {
    std::string name;  ///< with what was set: "Heron with R5=15R"
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
    std::vector<AcceptedFault> accepted;  ///< of an assembled board, those that apply to it
    std::vector<Allowance> drift;
    std::vector<OffBoard> off_board;
    std::vector<NotSimulated> not_simulated;
    Models models;
    std::string path;
    std::shared_ptr<const Choose> choose{};  ///< null without [choose]
    std::vector<std::string> set;            ///< alterations for this run, as given: "R5=15R"
};

const Part* find_part(const Board& board, std::string_view name);
const Variant* find_variant(const Board& board, std::string_view name);

// Look up a name from the user. The empty name gives null, which is the plain board or an ideal
// source. Throw Error (unusable_input), with the nearest name, if there is none of that name.
const Variant* variant_named(const Board& board, const std::string& name);
const Capsule* capsule_named(const Board& board, const std::string& name);

/// The drift from a baseline that the measure's figures are allowed, by [drift] or else by its
/// schema.
Drift drift_allowed(const Board& board, const MeasureSchema& measure);

/// The board with a variant's changes applied; a null variant gives the plain board.
Board with_variant(const Board& board, const Variant* variant);

struct BoardReading {
    std::optional<Board> board;  ///< present unless there is an error
    Diagnostics diagnostics;
};

/// Reads a board file with all files that it is based on, includes or names. `diagnostics` has
/// every mistake, in the order of the files; only a syntax error ends the reading of its file.
/// Sizes that no board needs are refused before they take memory or time: more than
/// `most_file_bytes`, lists and tables of more than 2000 entries, limits times assemblies times
/// knob positions over 50,000.
///
/// `set` alters parts, each once: "R5=15R" its main value, "R5.tolerance=1 %" another key; a list,
/// a table or a text in quotes is written as in TOML. It counts in every variant, also where the
/// variant sets the same key. Its mistakes are in a source named --set.
BoardReading read_board(const std::string& path, const FileReader& reader,
                        const std::vector<std::string>& set = {});

}  // namespace lowhiss
