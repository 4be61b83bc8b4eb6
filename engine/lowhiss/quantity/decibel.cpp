#include "lowhiss/quantity/decibel.hpp"

#include <cmath>

namespace lowhiss {

double db_from_ratio(double voltage_ratio) {
    return 20 * std::log10(voltage_ratio);
}
double ratio_from_db(double gain_db) {
    return std::pow(10.0, gain_db / 20);
}

double db_from_power_ratio(double power_ratio) {
    return 10 * std::log10(power_ratio);
}
double power_ratio_from_db(double gain_db) {
    return std::pow(10.0, gain_db / 10);
}

double dbu_from_v(double level_v) {
    return db_from_ratio(level_v / zero_dbu_v);
}
double v_from_dbu(double level_dbu) {
    return ratio_from_db(level_dbu) * zero_dbu_v;
}

}  // namespace lowhiss
