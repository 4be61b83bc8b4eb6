#include "lowhiss/impedance/file.hpp"

#include "lowhiss/impedance/points.hpp"
#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss {

std::vector<ImpedancePoint> read_impedance_file(const std::shared_ptr<const Source>& file,
                                                Diagnostics& out) {
    Faults faults(file, "impedance-file", out);
    impedance_file::Points points(faults);
    const std::string path = lower_case(file->path);
    if (path.ends_with(".csv")) {
        impedance_file::read_csv(file->text, points, faults);
    } else if (path.ends_with(".s1p")) {
        impedance_file::read_one_port(file->text, points, faults);
    } else {
        faults.add_for_file(
            "the file name has no known ending",
            ".csv (frequency_hz, impedance_ohm, phase_deg) or .s1p (one-port S-parameters)");
    }
    return points.take();
}

}  // namespace lowhiss
