#include "draw/columns.hpp"

#include <deque>
#include <limits>
#include <unordered_map>

#include "lowhiss/board/labels.hpp"

namespace lowhiss::cli {
namespace {

constexpr int unplaced = std::numeric_limits<int>::min();

/// An amplifier's output pin, else the number of pins.
std::size_t output_pin(const Part& part) {
    if (std::holds_alternative<OpAmp>(part.data)) return 2;
    if (std::holds_alternative<PreampIc>(part.data)) return 4;
    return part.pins.size();
}

class Placer {
  public:
    explicit Placer(const Board& board) : board_(board) {
        for (const NodePins& node : nodes_of(board)) {
            index_.emplace(node.node, columns_.node.size());
            columns_.node.push_back(unplaced);
        }
        parts_on_.resize(columns_.node.size());
        columns_.part.assign(board.parts.size(), unplaced);
        for (std::size_t k = 0; k < board.parts.size(); ++k) {
            if (!board.parts[k].fitted) continue;
            for (const Pin& pin : board.parts[k].pins) parts_on_[index_.at(pin.node)].push_back(k);
        }
    }

    Columns place() {
        place_from(board_.input.plus);
        place_from(board_.input.minus);
        for (const Part& part : board_.parts) {
            if (part.fitted) place_from(part.pins.front());
        }
        return std::move(columns_);
    }

  private:
    void place_from(const Pin& start) {
        place_node(start, 0, false);
        while (!queue_.empty()) {
            const std::size_t node = queue_.front();
            queue_.pop_front();
            for (const std::size_t part : parts_on_[node]) {
                if (columns_.part[part] == unplaced) place_part(part, columns_.node[node] + 1);
            }
        }
    }

    void place_part(std::size_t number, int column) {
        const Part& part = board_.parts[number];
        const std::size_t output = output_pin(part);
        const bool amplifier = output < part.pins.size();
        // An amplifier that is reached from its output is still left of it.
        if (amplifier && columns_.node[index_.at(part.pins[output].node)] == column - 1)
            column -= 2;
        columns_.part[number] = column;
        for (std::size_t k = 0; k < part.pins.size(); ++k) {
            const bool left = amplifier && k != output;
            place_node(part.pins[k], left ? column - 1 : column + 1, left);
        }
    }

    void place_node(const Pin& pin, int column, bool next) {
        const std::size_t node = index_.at(pin.node);
        if (node == 0 || columns_.node[node] != unplaced) return;
        columns_.node[node] = column;
        if (next)
            queue_.push_front(node);
        else
            queue_.push_back(node);
    }

    const Board& board_;
    std::unordered_map<std::string, std::size_t> index_;
    std::vector<std::vector<std::size_t>> parts_on_;
    std::deque<std::size_t> queue_;
    Columns columns_;
};

}  // namespace

Columns columns_of(const Board& assembled) {
    return Placer(assembled).place();
}

}  // namespace lowhiss::cli
