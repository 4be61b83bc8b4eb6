#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/ordered/drawn.hpp"
#include "lowhiss/ordered/nets.hpp"

namespace lowhiss {

/// The kinds of findings, the worst first. Each makes the comparison fail.
enum class FindingKind {
    joined,     ///< nodes that are one net on the board
    split,      ///< a node that is several nets
    turned,     ///< a polarised part the wrong way round
    exchanged,  ///< two pins in each other's place
    moved,      ///< pins on the net of another node
    stray_pin,  ///< a pin that is not drawn, on a net that is
    conflict,   ///< a pin on two nets
    missing_part,
    missing_pin,
    extra_part,
    value,
    not_listed,  ///< drawn as fitted, not in the materials
    not_fitted,  ///< in the materials, drawn as not fitted or not at all
    may_be_cut   ///< joined only by a name that may have been cut: not known
};

/// "joined nets", the heading of such findings.
std::string_view finding_title(FindingKind kind);
std::vector<FindingKind> finding_kinds();

struct OrderFinding {
    FindingKind kind;
    std::string text;               ///< one line, names quoted for any terminal
    std::vector<std::string> pins;  ///< "R1.2", those the finding is about
    Position drawn;                 ///< in the board file; no source: nowhere
    Position ordered;               ///< in the data, likewise
};

/// A part that is another unit of its device in the data than in the drawing.
struct ExchangedUnit {
    std::string path;  ///< of the data
    std::string device;
    std::string part;
    std::string drawn;    ///< unit
    std::string ordered;  ///< likewise

    bool operator==(const ExchangedUnit&) const = default;
};

struct Match {
    std::vector<OrderFinding> findings;     ///< the worst first
    std::vector<std::string> not_compared;  ///< what was not compared, and why
    std::vector<std::string> notes;         ///< of the readers, and of exchanged units
    std::vector<ExchangedUnit> units;       ///< exchanged, without any effect
    std::size_t parts = 0;                  ///< compared
    std::size_t pins = 0;
    std::size_t nodes = 0;
};

/// Compares the partitions of the pins that both have; names of nets decide nothing. A part that
/// may be fitted either way round is taken in the orientation that agrees better.
Match match_nets(const Board& board, const OrderedNets& ordered);

/// The text of the finding `extra_part`, the same for nets and materials, so that it is reported
/// once.
std::string not_drawn_text(const std::string& device);

/// The order of findings: by kind, then by text.
bool is_worse(const OrderFinding& a, const OrderFinding& b);

}  // namespace lowhiss
