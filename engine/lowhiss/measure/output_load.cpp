#include "lowhiss/measure/output_load.hpp"

#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {

double loss_into_db(Setting& setting, double frequency_hz, double load_ohm, double cable_f) {
    Output other = setting.board().output;
    const Complex open_ohm = unloaded_ohm(setting.at(frequency_hz).output_impedance_ohm,
                                          load_siemens(other, frequency_hz));
    other.load_ohm = load_ohm;
    other.cable_f = cable_f;
    return or_unset(db_from_ratio(std::abs(1.0 + open_ohm * load_siemens(other, frequency_hz))));
}

double output_loss_db(Setting& setting, double frequency_hz) {
    const Output& own = setting.board().output;
    return loss_into_db(setting, frequency_hz, own.load_ohm, own.cable_f);
}

}  // namespace lowhiss
