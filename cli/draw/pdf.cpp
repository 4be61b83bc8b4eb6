#include "draw/pdf.hpp"

#include <algorithm>
#include <string_view>

namespace lowhiss::cli {

std::string without_date(std::string pdf) {
    constexpr std::string_view key = "/CreationDate (D:";
    const auto begin = pdf.rfind(key);  // the document's information is the last object
    if (begin == std::string::npos) return pdf;
    const auto end = pdf.find(')', begin);
    if (end == std::string::npos) return pdf;
    std::fill(pdf.begin() + static_cast<std::ptrdiff_t>(begin),
              pdf.begin() + static_cast<std::ptrdiff_t>(end) + 1, ' ');
    return pdf;
}

}  // namespace lowhiss::cli
