#pragma once

#include <pugixml.hpp>
#include <string>
#include <vector>

namespace lowhiss::cli {

/// The name of a board's suite and the class of its cases: the path and what was altered for this
/// run, "heron.toml with R4=47R". Servers keep results by class, and drop the second of two cases
/// of one class and name: those of an altered board are not those of the board.
std::string suite_name(const std::string& path, const std::vector<std::string>& set);

/// Adds an attribute; its value may have any bytes.
void set_attribute(pugi::xml_node node, const char* name, const std::string& value);

/// One property "set" for each alteration; none without.
void add_properties(pugi::xml_node suite, const std::vector<std::string>& set);

}  // namespace lowhiss::cli
