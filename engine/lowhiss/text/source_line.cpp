#include "lowhiss/text/source_line.hpp"

#include <algorithm>

#include "lowhiss/text/utf8.hpp"

namespace lowhiss {

std::string_view content_of(const Source& source) {
    std::string_view text = source.text;
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    return text;
}

std::string_view line_of(const Source& source, int line) {
    std::string_view rest = content_of(source);
    for (int skipped = 1; skipped < line; ++skipped) {
        const auto end = rest.find('\n');
        if (end == std::string_view::npos) return {};
        rest.remove_prefix(end + 1);
    }
    rest = rest.substr(0, rest.find('\n'));
    if (rest.ends_with('\r')) rest.remove_suffix(1);
    return rest;
}

std::size_t offset_of(std::string_view line, int column) {
    std::string_view rest = line;
    for (int passed = 1; passed < column && !rest.empty(); ++passed) take_code_point(rest);
    return line.size() - rest.size();
}

Position position_of(const std::shared_ptr<const Source>& source, std::string_view here) {
    const std::string_view text = content_of(*source);
    const auto before = text.substr(0, static_cast<std::size_t>(here.data() - text.data()));
    const auto newline = before.rfind('\n');
    std::string_view rest = newline == std::string_view::npos ? before : before.substr(newline + 1);
    Position at{source, 1 + static_cast<int>(std::count(before.begin(), before.end(), '\n')), 1};
    for (; !rest.empty(); ++at.column) take_code_point(rest);
    return at;
}

}  // namespace lowhiss
