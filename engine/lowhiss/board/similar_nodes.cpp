#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/board/readers.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

/// One spelling of a node's name.
struct NodeSpelling {
    std::string node;
    std::string first_pin;  ///< the label of the first pin on it
    Position at;            ///< of that pin
    int pins = 0;
};

/// The spellings of each name, in the order of the board.
class NodeSpellings {
  public:
    void add(const Pin& pin, const std::string& label) {
        if (pin.node.empty()) return;  // a mistake that is reported
        std::vector<NodeSpelling>& same = spellings_[lower_case(pin.node)];
        const auto known = std::find_if(same.begin(), same.end(),
                                        [&](const NodeSpelling& s) { return s.node == pin.node; });
        if (known != same.end())
            ++known->pins;
        else
            same.push_back({pin.node, label, pin.at, 1});
    }

    void add_parts(const std::vector<Part>& parts) {
        for (const Part& part : parts) {
            for (std::size_t k = 0; k < part.pins.size(); ++k) {
                add(part.pins[k], pin_label(part, k));
            }
        }
    }

    const std::map<std::string, std::vector<NodeSpelling>>& all() const { return spellings_; }

  private:
    std::map<std::string, std::vector<NodeSpelling>> spellings_;
};

}  // namespace

void warn_of_similar_nodes(const BoardDraft& draft) {
    const Board& board = draft.board;
    NodeSpellings spellings;
    spellings.add({board.ground, {}}, "");
    spellings.add_parts(board.parts);
    for (const Variant& variant : board.variants) spellings.add_parts(variant.changed);
    for (const auto& [lower, same] : spellings.all()) {
        if (same.size() < 2) continue;
        const bool is_ground = same.front().node == board.ground;
        const auto meant = is_ground
                               ? same.begin()
                               : std::max_element(same.begin(), same.end(),
                                                  [](const NodeSpelling& a, const NodeSpelling& b) {
                                                      return a.pins < b.pins;
                                                  });
        for (const NodeSpelling& other : same) {
            if (&other == &*meant) continue;
            Diagnostic d = error_at(
                other.at, "similar-node", other.first_pin,
                fmt::format("the node {} differs from {}{} by case alone", quote(other.node),
                            quote(meant->node), is_ground ? ", which is ground," : ""),
                "",
                fmt::format("did you mean {}? If these are two nodes, rename one of them",
                            quote(meant->node)));
            d.severity = Severity::warning;
            draft.out.push_back(std::move(d));
        }
    }
}

}  // namespace lowhiss
