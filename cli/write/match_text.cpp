#include "write/match_text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "shell/names.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

std::string file_and_line(const Position& at) {
    if (!at.source) return "";
    return at.line > 0 ? fmt::format("{}:{}:{}", at.source->path, at.line, at.column)
                       : at.source->path;
}

std::string places_text(const OrderFinding& finding) {
    const std::string drawn = file_and_line(finding.drawn);
    const std::string ordered = file_and_line(finding.ordered);
    if (drawn.empty() && ordered.empty()) return "";
    if (drawn.empty() || ordered.empty()) return fmt::format(" [{}{}]", drawn, ordered);
    return fmt::format(" [{}, {}]", drawn, ordered);
}

}  // namespace

std::string finding_line(const ReportedFinding& each) {
    const OrderFinding& finding = each.finding;
    std::string line = fmt::format("{}: {}", finding_title(finding.kind), finding.text);
    if (!each.variants.empty()) line += fmt::format(" (in {})", fmt::join(each.variants, ", "));
    return line + places_text(finding);
}

std::string match_text(const MatchReport& report, bool quiet, bool bold) {
    std::string text;
    for (const ReportedFinding& each : report.findings) {
        text += for_terminal(finding_line(each)) + "\n";
    }
    if (quiet) return text;
    if (!text.empty()) text += "\n";
    std::string head = title_line(for_terminal(board_title(report.board, report.revision)), bold);
    head += fmt::format("  compared: {} parts, {} pins, {} nodes\n", report.parts, report.pins,
                        report.nodes);
    for (const std::string& line : report.not_compared) {
        head += for_terminal(fmt::format("  not compared: {}", line)) + "\n";
    }
    for (const std::string& line : report.notes) {
        head += for_terminal(fmt::format("  note: {}", line)) + "\n";
    }
    const std::size_t count = report.findings.size();
    return text + head +
           (count == 0 ? "  PASS: what was compared agrees\n"
                       : fmt::format("  FAIL: {} difference{}\n", count, count == 1 ? "" : "s"));
}

}  // namespace lowhiss::cli
