#pragma once

#include <initializer_list>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"

namespace lowhiss {

/// Finds which missing figures of models a measure depends on: those that move it by more than a
/// tenth of the drift that its schema allows when they take the value of a poor part, or with which
/// it cannot be computed. Settings with a poor part are made when they are first needed, and kept.
/// One object per thread.
class ModelGaps {
  public:
    /// `assembled` must outlive the object.
    explicit ModelGaps(const Board& assembled);

    /// False if no measure can depend on a missing figure.
    bool any() const { return !gaps_.empty(); }

    /// `value` is that of the measure at the setting, which is one of the board.
    std::vector<ModelGap> behind(const MeasureRecord& measure, const MeasureArguments& arguments,
                                 Setting& setting, double value);

    /// Frees the settings at this angle of the knob.
    void forget(double angle);

    /// The measures that are best cases at this setting, each in the audio band, at 1 kHz and 20
    /// kHz, and with each supply as its part.
    std::vector<AssumedIdeal> at(Setting& setting);
    /// The same for these measures alone, none of which takes a part.
    std::vector<AssumedIdeal> of(std::initializer_list<std::string_view> measures,
                                 Setting& setting);

  private:
    struct PoorBoard {
        Board board;
        std::unique_ptr<Setting> setting;
    };

    bool may_lack_figures(const MeasureRecord& measure) const;
    bool moves(const MeasureRecord& measure, const MeasureArguments& arguments, Setting& setting,
               double value, const ModelGap& gap, std::string_view key);
    Setting& poor_setting(Setting& setting, const ModelGap& gap, std::string_view key);

    const Board& board_;
    std::vector<ModelGap> gaps_;  ///< with all keys that measures rest on
    /// The key is the rotation, the kind of part as the index in its variant, the model's name and
    /// the model's key.
    std::map<std::tuple<double, std::size_t, std::string, std::string_view>, PoorBoard> poor_;
};

/// The measure's record has the place of its ideal figure, unless a real figure of what is missing
/// may be on either side.
IdealFigure place_of_ideal(const MeasureRecord& measure, const std::vector<ModelGap>& gaps);

}  // namespace lowhiss
