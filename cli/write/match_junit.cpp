#include "write/match_junit.hpp"

#include <pugixml.hpp>
#include <sstream>

#include "shell/names.hpp"
#include "write/junit.hpp"
#include "write/match_text.hpp"

namespace lowhiss::cli {
namespace {

/// The findings of a kind, a line each.
std::string lines_of(const MatchReport& report, FindingKind kind) {
    std::string lines;
    for (const ReportedFinding& each : report.findings) {
        if (each.finding.kind != kind) continue;
        if (!lines.empty()) lines += "\n";
        lines += finding_line(each);
    }
    return lines;
}

}  // namespace

std::string match_junit(const MatchReport& report) {
    pugi::xml_document document;
    pugi::xml_node suites = document.append_child("testsuites");
    set_attribute(suites, "name", "lowhiss match");
    pugi::xml_node suite = suites.append_child("testsuite");
    const std::string name = suite_name(report.path, report.set);
    set_attribute(suite, "name", name);
    add_properties(suite, report.set);
    int failures = 0;
    for (const FindingKind kind : finding_kinds()) {
        pugi::xml_node test = suite.append_child("testcase");
        set_attribute(test, "classname", name);
        set_attribute(test, "name", "ordered data: " + std::string(finding_title(kind)));
        const std::string lines = lines_of(report, kind);
        if (lines.empty()) continue;
        ++failures;
        pugi::xml_node problem = test.append_child("failure");
        set_attribute(problem, "message", lines);
        set_attribute(problem, "type", "ordered data");
        problem.text().set(for_xml(lines).c_str());
    }
    set_attribute(suite, "tests", std::to_string(finding_kinds().size()));
    set_attribute(suite, "failures", std::to_string(failures));
    set_attribute(suite, "errors", "0");
    std::ostringstream text;
    document.save(text, " ");
    return text.str();
}

}  // namespace lowhiss::cli
