#include "lowhiss/quantity/phrase.hpp"

namespace lowhiss {

std::string with_article(std::string_view noun) {
    const bool vowel = std::string_view("aeiou").find(noun.front()) != std::string_view::npos;
    return (vowel ? "an " : "a ") + std::string(noun);
}

std::string write_one_of(const std::vector<std::string>& texts) {
    std::string phrase;
    for (const auto& text : texts) {
        const bool first = &text == &texts.front();
        const bool last = &text == &texts.back();
        phrase += (first ? "write " : last ? " or " : ", ") + text;
    }
    return phrase;
}

}  // namespace lowhiss
