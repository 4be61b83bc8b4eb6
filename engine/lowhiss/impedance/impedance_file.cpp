#include "lowhiss/impedance/impedance_file.hpp"

#include "lowhiss/impedance/impedance_points.hpp"

namespace lowhiss {

std::vector<ImpedancePoint> read_impedance_file(const std::shared_ptr<const Source>& file,
                                                Diagnostics& out) {
    impedance_file::Faults faults(file, out);
    impedance_file::Points points(faults);
    const std::string path = impedance_file::lower(file->path);
    if (path.ends_with(".csv")) {
        impedance_file::read_csv(file->text, points, faults);
    } else if (path.ends_with(".s1p")) {
        impedance_file::read_touchstone(file->text, points, faults);
    } else {
        faults.add_for_file("the file's ending names no format of an impedance",
                            ".csv (frequency_hz, impedance_ohm, phase_deg) or .s1p (Touchstone)");
    }
    return points.take();
}

}  // namespace lowhiss
