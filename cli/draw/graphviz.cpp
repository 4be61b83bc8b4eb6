#include "draw/graphviz.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "draw/pdf.hpp"
#include "shell/child.hpp"
#include "shell/exit_status.hpp"
#include "write/output.hpp"

namespace lowhiss::cli {
namespace {

std::string format_of(const std::string& path) {
    return path == "-" ? ".dot" : ending_of(path);
}

}  // namespace

void check_drawing_name(const std::string& path) {
    constexpr std::array known{".dot", ".svg", ".png", ".pdf"};
    if (std::find(known.begin(), known.end(), format_of(path)) != known.end()) return;
    throw UsageError(fmt::format(
        "--graph: '{}' is not a drawing; accepted: a name that ends in .svg, .png, .pdf "
        "or .dot",
        path));
}

void write_drawing(const std::string& path, std::string_view dot_text) {
    check_drawing_name(path);
    const std::string format = format_of(path);
    if (format == ".dot") return write_output(path, dot_text);
    const Program dot{"dot", "graphviz", ", or name a .dot file"};
    std::string picture = output_of(dot, {"-T" + format.substr(1)}, dot_text);
    write_output(path, format == ".pdf" ? without_date(std::move(picture)) : picture);
}

}  // namespace lowhiss::cli
