#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/board/load.hpp"
#include "lowhiss/board/schema.hpp"

namespace lowhiss {

// The readers of a board's sections, private to this folder. Each reports every mistake to `out`.

/// All models and capsules that were gathered. A name defined twice is an error unless both
/// definitions have the same content.
Models read_models(const std::vector<ModelDefinition>& definitions, const FileReader& reader,
                   Diagnostics& out);

/// A board being read: its tables, and what has been made of them.
struct BoardDraft {
    const Node::Table& tables;  ///< of all files, merged
    const FileReader& reader;
    Board& board;
    Diagnostics& out;
    const Node::Table* part_entries = nullptr;  ///< [parts] as written; null if there is none
};

/// The section, or null if it is missing or no table; the latter is reported.
const Node::Table* section_of(const BoardDraft& draft, std::string_view name);

/// Whether [parts] lists the name, perhaps with a mistake that is reported there. Also true if
/// there is no [parts], which is reported once. Other sections then do not report the part again.
bool is_listed_part(const BoardDraft& draft, std::string_view name);

/// An unknown part, unless `is_listed_part`.
void report_unknown_part(const BoardDraft& draft, const Position& at, const std::string& subject,
                         std::string_view what, const std::string& name,
                         const std::vector<std::string>& known);

std::vector<std::string> part_names(const Board& board);

/// The capsule that a key names; empty after a mistake.
std::string read_capsule_name(const BoardDraft& draft, const Member& member,
                              const std::string& subject);

/// One entry of [parts]; nothing if its kind is unknown.
std::optional<Part> read_part(const BoardDraft& draft, const Member& entry);

/// One entry of a variant's `set`: the part with a new main value, or with other keys changed.
Part changed_part(const BoardDraft& draft, Part part, const Member& change);

/// The alterations that the texts ask for, such as R5=15R or R5.tolerance=1 %: by part the change
/// that a variant's `set` would make. Reported mistakes are in a source named --set.
std::vector<Member> read_alterations(const BoardDraft& draft,
                                     const std::vector<std::string>& texts);

/// Applies to each of the parts the changes that name it.
void alter(const BoardDraft& draft, const std::vector<Member>& changes, std::vector<Part>& parts);

/// The name of the board with its alterations: "Heron with R5=15R, R8=10R".
std::string altered_name(const std::string& name, const std::vector<std::string>& texts);

/// [feed] without its terminals; without a standard if the named one is unknown.
Feed read_feed_figures(const Node::Table& table, const Position& at, Diagnostics& out);

/// The feed of a variant: a standard by its name, or a table of keys to change. Nothing after a
/// mistake.
std::optional<Feed> changed_feed(const BoardDraft& draft, const Node& value,
                                 const std::string& subject);

/// The rows of a capacitor's loss of capacitance; nothing after a mistake.
std::optional<BiasLoss> read_bias_loss(const Node& value, const std::string& subject,
                                       Diagnostics& out);

/// Reads `temperature` and `temperature_range` of [board].
void read_temperatures(BoardDraft& draft, const Node::Table& board_table);

/// [off_board], and `not_simulated` of [board].
void read_off_board(BoardDraft& draft);
void read_not_simulated(BoardDraft& draft, const Node::Table& board_table);

/// `numbers` of a part or the keys of a pinout: a number, or a list where the pins are several.
void read_pin_numbers(const Node::Table& table, std::span<const PinGroup> pins,
                      const std::string& subject, std::vector<PinNumbers>& numbers,
                      Diagnostics& out);
[[nodiscard]] Pinout read_pinout(const Node::Table& table, const Position& at,
                                 const std::string& subject, Diagnostics& out);

/// Reports models that name a pinout that is not defined.
void reject_unknown_pinouts(const BoardDraft& draft);

void read_knob(BoardDraft& draft);
void read_ripples(BoardDraft& draft);
void read_variants(BoardDraft& draft);
void read_matched_groups(BoardDraft& draft);

/// [[limit]], with the files of masks.
void read_limits(BoardDraft& draft);
void read_drift(BoardDraft& draft);

/// The measure that the key names, with the other keys of the table that say where it is taken, as
/// those of a limit do.
Limit read_chosen_figure(BoardDraft& draft, const Node::Table& keys, const Position& at,
                         std::string_view measure_key);

/// Reads [choose]. The limits must be read before, because it is judged by them.
void read_choose(BoardDraft& draft);

/// Warns of nodes whose names differ from ground's or from one another's by case alone.
void warn_of_similar_nodes(const BoardDraft& draft);

/// Reads [[accept]].
void read_accepted_faults(BoardDraft& draft);

/// Reports every part whose value is zero or less at an end of the temperature range.
void reject_vanishing_values(const BoardDraft& draft);

}  // namespace lowhiss
