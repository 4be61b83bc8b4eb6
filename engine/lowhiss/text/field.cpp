#include "lowhiss/text/field.hpp"

namespace lowhiss {

std::string_view range_text(Range range) {
    switch (range) {
        case Range::any:
            return "any";
        case Range::positive:
            return "more than 0";
        case Range::at_least_zero:
            return "0 or more";
        case Range::zero_to_one:
            return "0 to 1";
        case Range::inside_zero_to_one:
            return "between 0 and 1";
        case Range::above_zero_to_one:
            return "more than 0, up to 1";
        case Range::minus_one_to_zero:
            return "-1 to 0";
        case Range::minus_one_to_one:
            return "-1 to 1";
    }
    return "";
}

bool in_range(double value, Range range) {
    switch (range) {
        case Range::any:
            return true;
        case Range::positive:
            return value > 0;
        case Range::at_least_zero:
            return value >= 0;
        case Range::zero_to_one:
            return value >= 0 && value <= 1;
        case Range::inside_zero_to_one:
            return value > 0 && value < 1;
        case Range::above_zero_to_one:
            return value > 0 && value <= 1;
        case Range::minus_one_to_zero:
            return value >= -1 && value <= 0;
        case Range::minus_one_to_one:
            return value >= -1 && value <= 1;
    }
    return false;
}

}  // namespace lowhiss
