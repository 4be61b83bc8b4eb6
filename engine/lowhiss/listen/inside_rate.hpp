#pragma once

namespace lowhiss {

/// The rates at which sound is computed. The inside rate is a whole multiple of the file's rate and
/// at least 96 kHz, so that the response up to 20 kHz lies far below half of it.
///
/// A taper, half a period of a cosine, passes what is below `pass_hz` and ends at `stop_hz`: half
/// the inside rate or, where that is a multiple of the file's, as far above half the file's rate as
/// `pass_hz` is below it. Then neither aliases nor images fall below `pass_hz`.
struct InsideRate {
    double file_hz = 0;
    int multiple = 1;
    double pass_hz = 0;  ///< 20 kHz, or less for a file of less than 44.1 kHz
    double stop_hz = 0;

    double hz() const { return file_hz * multiple; }
    double taper(double frequency_hz) const;  ///< 1 to 0
};

InsideRate inside_rate(double file_hz);

}  // namespace lowhiss
