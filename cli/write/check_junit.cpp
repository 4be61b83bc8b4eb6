#include "write/check_junit.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <pugixml.hpp>
#include <set>
#include <sstream>
#include <utility>

#include "shell/names.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/junit.hpp"
#include "write/shell_word.hpp"

namespace lowhiss::cli {
namespace {

/// The message is in the attribute and in the text, as some servers show one, some the other.
void add_problem(pugi::xml_node test, const char* kind, const std::string& message,
                 const std::string& type) {
    pugi::xml_node problem = test.append_child(kind);
    set_attribute(problem, "message", message);
    set_attribute(problem, "type", type);
    problem.text().set(for_xml(message).c_str());
}

std::string failure_text(const Verdict& v) {
    std::string text = measured_text(v) + ", limit " + bounds_text(v);
    if (!v.look_at.empty()) text += fmt::format("; main parts: {}", fmt::join(v.look_at, ", "));
    return text;
}

/// Servers drop the second of two cases of one class and name, and ignore the suite's name. Path
/// and place make names unique; a number is added where they do not.
class Names {
  public:
    std::string unique(const std::string& class_name, const std::string& name) {
        std::string result = name;
        for (int k = 2; !taken_.emplace(class_name, result).second; ++k) {
            result = fmt::format("{} ({})", name, k);
        }
        return result;
    }

  private:
    std::set<std::pair<std::string, std::string>> taken_;
};

/// One test case.
struct Case {
    std::string name;
    std::string kind;  ///< "failure", "error" or empty
    std::string message;
    std::string type;
};

Case case_of(const Verdict& v) {
    Case result{fmt::format("limit: {}: {}", v.limit, place_text(v.variant, v.capsule, v.knob)), "",
                "", "limit"};
    if (v.outcome == Outcome::not_known) {
        result.kind = "failure";
        result.message =
            fmt::format("NOT KNOWN: {}, limit {}; {}", v.measure, bounds_text(v), v.reason);
    } else if (v.outcome == Outcome::fail) {
        result.kind = "failure";
        result.message = "FAIL: " + (v.reason.empty() ? failure_text(v) : v.reason);
    } else if (v.outcome == Outcome::not_computed) {
        result.kind = "error";
        result.message = v.reason;
        result.type = "not computed";
    }
    return result;
}

std::string changes_text(const BaselineCheck& baseline) {
    constexpr std::size_t most_named = 20;
    std::string text;
    for (std::size_t k = 0; k < std::min(baseline.changes.size(), most_named); ++k) {
        text +=
            (k == 0 ? "; changes since the baseline: " : "; ") + change_text(baseline.changes[k]);
    }
    if (baseline.changes.size() > most_named) text += "; ...";
    return text;
}

Case case_of(const FigureDrift& drift, const BaselineCheck& baseline) {
    Case result{"baseline: " + drift_name(drift), "", "", "drift"};
    if (drift.kind == FigureDrift::Kind::not_computed) {
        result.kind = "error";
        result.message = drift.figure.trouble;
        result.type = "not computed";
    } else if (fails(drift, baseline)) {
        result.kind = "failure";
        result.message = "drift: " + drift_text(drift) + changes_text(baseline);
    }
    return result;
}

std::vector<Case> cases_of(const CheckedBoard& board) {
    if (!board.trouble.empty()) return {{"read the board", "error", board.trouble, "unusable"}};
    using State = BaselineCheck::State;
    const BaselineCheck& baseline = board.baseline;
    std::vector<Case> cases;
    for (const Verdict& v : board.verdicts) cases.push_back(case_of(v));
    if (baseline.state == State::unusable) {
        cases.push_back({"baseline: read", "error", baseline.trouble, "unusable"});
    } else if (baseline.state == State::none) {
        Case missing{"baseline: read", "", "", "drift"};
        if (baseline.strict) {
            missing.kind = "failure";
            missing.message = fmt::format("no baseline {}; to create it: lowhiss check {} --record",
                                          baseline.path, shell_word(board.path));
        }
        cases.push_back(std::move(missing));
    }
    for (const OrderedFile& file : baseline.ordered) {
        Case ordered{"baseline: ordered: " + file.path, "", "", "ordered"};
        for (const OrderedChange& change : baseline.ordered_changes) {
            if (change.path != file.path) continue;
            ordered.kind = "failure";
            ordered.message = change.path + " " + change.what;
        }
        cases.push_back(std::move(ordered));
    }
    for (const FigureDrift& drift : baseline.drifts) {
        const bool not_computed = drift.kind == FigureDrift::Kind::not_computed;
        if (baseline.state == State::unusable) break;
        if (baseline.state == State::none && !not_computed) continue;
        cases.push_back(case_of(drift, baseline));
    }
    return cases;
}

void add_board(pugi::xml_node suites, const CheckedBoard& board, Names& names) {
    const std::vector<Case> cases = cases_of(board);
    const auto count = [&](std::string_view kind) {
        return std::count_if(cases.begin(), cases.end(),
                             [&](const Case& each) { return each.kind == kind; });
    };
    pugi::xml_node suite = suites.append_child("testsuite");
    const std::string suite_title = suite_name(board.path, board.set);
    set_attribute(suite, "name", suite_title);
    set_attribute(suite, "tests", std::to_string(cases.size()));
    set_attribute(suite, "failures", std::to_string(count("failure")));
    set_attribute(suite, "errors", std::to_string(count("error")));
    add_properties(suite, board.set);
    for (const Case& each : cases) {
        pugi::xml_node test = suite.append_child("testcase");
        set_attribute(test, "classname", suite_title);
        set_attribute(test, "name", names.unique(suite_title, each.name));
        if (!each.kind.empty()) add_problem(test, each.kind.c_str(), each.message, each.type);
    }
}

}  // namespace

std::string check_junit(const std::vector<CheckedBoard>& boards) {
    pugi::xml_document document;
    pugi::xml_node suites = document.append_child("testsuites");
    set_attribute(suites, "name", "lowhiss check");
    Names names;
    for (const CheckedBoard& board : boards) add_board(suites, board, names);
    std::ostringstream text;
    document.save(text, " ");
    return text.str();
}

}  // namespace lowhiss::cli
