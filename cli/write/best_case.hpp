#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// The mark of a figure that is a best case, behind it in a table.
inline constexpr std::string_view best_case_mark = "?";

/// Whether any figure of these measures is a best case.
bool at_best(const std::vector<AssumedIdeal>& assumed,
             std::initializer_list<std::string_view> measures);

/// The cell with the mark. For a figure that is 0 or does not exist the mark stands alone, because
/// that value is a result of the ideal.
std::string marked(std::string cell, bool best_case);

/// The line under a table, of all gaps behind the marks of these measures: "  ? best case: U1:
/// tl072 has no cmrr". Empty without any.
std::string best_case_note(const std::vector<AssumedIdeal>& assumed,
                           std::initializer_list<std::string_view> measures);
std::string best_case_note(const SweepRun& run, std::initializer_list<std::string_view> measures);

/// Every gap, each model once; empty without any.
std::vector<ModelGap> gaps_of(const std::vector<AssumedIdeal>& assumed);
std::vector<ModelGap> all_gaps(const SweepRun& run);

}  // namespace lowhiss::cli
