#include "write/bass_words.hpp"

#include <fmt/format.h>

#include "write/table.hpp"

namespace lowhiss::cli {

std::string bass_cause_text(const PartRolloff& cause) {
    switch (cause.rolloff.cause) {
        case BassCause::capacitor:
        case BassCause::inductor:
            return cause.part;
        case BassCause::transformer:
            return cause.part + " (primary inductance)";
        case BassCause::capsule:
            return "the capsule's impedance";
    }
    return "";
}

std::string interaction_text(const PartBassLoss& loss, int decimals) {
    std::string names;
    for (std::size_t k = 0; k < loss.causes.size(); ++k) {
        const bool last = k + 1 == loss.causes.size();
        names += (k == 0 ? "" : last ? " and " : ", ") + bass_cause_text(loss.causes[k]);
    }
    return fmt::format("{} together: {} of {} dB; {} alone more than {} dB", names,
                       fixed(loss.together_db, decimals), fixed(loss.total_db, decimals),
                       loss.causes.size() == 2 ? "neither" : "none",
                       fixed(loss.most_alone_db, decimals));
}

}  // namespace lowhiss::cli
