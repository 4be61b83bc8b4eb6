#pragma once

#include <string>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

// The tables of one run of a sweep, without headings, and whether the run has figures for each.
// Records that name them are in sweep_tables.cpp.

std::string gain_table(const SweepRun& run);

std::string noise_table(const SweepRun& run);

bool has_source(const SweepRun& run);
std::string source_table(const SweepRun& run);
bool has_distortion(const SweepRun& run);
std::string distortion_table(const SweepRun& run);
/// Whether any figure of that table is more than "hardly any".
bool distorts(const SweepRun& run);

bool has_bass(const SweepRun& run);
std::string bass_table(const SweepRun& run);

bool has_capsule(const SweepRun& run);
std::string capsule_table(const SweepRun& run);

bool has_headroom(const SweepRun& run);
std::string headroom_table(const SweepRun& run);

std::string output_table(const SweepRun& run);

std::string balance_table(const SweepRun& run);

bool has_settling(const SweepRun& run);
std::string settling_table(const SweepRun& run);

bool has_stability(const SweepRun& run);
std::string stability_table(const SweepRun& run);

bool has_cmrr(const SweepRun& run);
std::string cmrr_table(const SweepRun& run);

bool has_psrr(const SweepRun& run);
std::string psrr_table(const SweepRun& run);

bool has_ripple(const SweepRun& run);
std::string ripple_table(const SweepRun& run);

bool has_radio(const SweepRun& run);
std::string radio_table(const SweepRun& run);

}  // namespace lowhiss::cli
