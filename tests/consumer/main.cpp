#include <cstdio>

#include "lowhiss/sweep/sweep.hpp"

int main(int argc, char** argv) {
    if (argc != 2) return 2;
    const auto reading = lowhiss::read_board(argv[1], lowhiss::disk_reader());
    if (!reading.board) return 1;
    const auto result = lowhiss::sweep(*reading.board, {});
    std::printf("%.3f dB\n", result.runs.front().knob.back().measures.gain_1khz_db);
}
