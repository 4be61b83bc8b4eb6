#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <pugixml.hpp>
#include <set>
#include <sstream>

#include "check.hpp"

namespace lowhiss::cli {
namespace {

/// XML 1.0 has no way to write other control characters.
std::string legal(std::string text) {
    std::erase_if(text, [](char byte) {
        const auto code = static_cast<unsigned char>(byte);
        return code < 0x20 && byte != '\t' && byte != '\n' && byte != '\r';
    });
    return text;
}

void set(pugi::xml_node node, const char* name, const std::string& value) {
    node.append_attribute(name).set_value(legal(value).c_str());
}

/// The message stands in the attribute and again in the text: some servers show one, some the
/// other.
void add_problem(pugi::xml_node test, const char* kind, const std::string& message,
                 const std::string& type) {
    pugi::xml_node problem = test.append_child(kind);
    set(problem, "message", message);
    set(problem, "type", type);
    problem.text().set(legal(message).c_str());
}

std::string missed_text(const Verdict& v) {
    std::string text = fmt::format("{} is {}", v.measure, figure_text(v.value, v.unit));
    if (!std::isnan(v.at_hz)) text += " at " + figure_text(v.at_hz, Unit::hertz);
    if (!std::isnan(v.min)) text += ", at least " + figure_text(v.min, v.unit);
    if (!std::isnan(v.max)) text += ", at most " + figure_text(v.max, v.unit);
    if (!v.look_at.empty()) text += fmt::format("; look at {}", fmt::join(v.look_at, ", "));
    return text;
}

/// Servers drop the second of two cases of one class and name, and pay no heed to the suite's name:
/// path and place make them unique, a number does where they are not.
class Names {
  public:
    std::string unique(const std::string& class_name, const std::string& name) {
        std::string result = name;
        for (int k = 2; !taken_.insert(class_name + "\n" + result).second; ++k) {
            result = fmt::format("{} ({})", name, k);
        }
        return result;
    }

  private:
    std::set<std::string> taken_;
};

void add_board(pugi::xml_node suites, const CheckedBoard& board, Names& names) {
    pugi::xml_node suite = suites.append_child("testsuite");
    const auto count = [&](Outcome outcome) {
        return std::count_if(board.verdicts.begin(), board.verdicts.end(),
                             [&](const Verdict& v) { return v.outcome == outcome; });
    };
    const bool unread = !board.trouble.empty();
    set(suite, "name", board.path);
    set(suite, "tests", std::to_string(board.verdicts.size() + (unread ? 1 : 0)));
    set(suite, "failures", std::to_string(count(Outcome::missed)));
    set(suite, "errors", std::to_string(count(Outcome::not_computed) + (unread ? 1 : 0)));
    const auto add_case = [&](const std::string& name) {
        pugi::xml_node test = suite.append_child("testcase");
        set(test, "classname", board.path);
        set(test, "name", names.unique(board.path, name));
        return test;
    };
    if (unread) add_problem(add_case("read the board"), "error", board.trouble, "unusable");
    for (const Verdict& v : board.verdicts) {
        pugi::xml_node test = add_case(fmt::format("{}: {}", v.limit, place_text(v)));
        if (v.outcome == Outcome::missed) add_problem(test, "failure", missed_text(v), "limit");
        if (v.outcome == Outcome::not_computed)
            add_problem(test, "error", v.reason, "not computed");
    }
}

}  // namespace

std::string check_junit(const std::vector<CheckedBoard>& boards) {
    pugi::xml_document document;
    pugi::xml_node suites = document.append_child("testsuites");
    set(suites, "name", "lowhiss check");
    Names names;
    for (const CheckedBoard& board : boards) add_board(suites, board, names);
    std::ostringstream text;
    document.save(text, " ");
    return text.str();
}

}  // namespace lowhiss::cli
