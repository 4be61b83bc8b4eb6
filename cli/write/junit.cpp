#include "write/junit.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "shell/names.hpp"

namespace lowhiss::cli {

std::string suite_name(const std::string& path, const std::vector<std::string>& set) {
    return set.empty() ? path : fmt::format("{} with {}", path, fmt::join(set, ", "));
}

void set_attribute(pugi::xml_node node, const char* name, const std::string& value) {
    node.append_attribute(name).set_value(for_xml(value).c_str());
}

void add_properties(pugi::xml_node suite, const std::vector<std::string>& set) {
    if (set.empty()) return;
    pugi::xml_node properties = suite.append_child("properties");
    for (const std::string& alteration : set) {
        pugi::xml_node property = properties.append_child("property");
        property.append_attribute("name").set_value("set");
        property.append_attribute("value").set_value(for_xml(alteration).c_str());
    }
}

}  // namespace lowhiss::cli
