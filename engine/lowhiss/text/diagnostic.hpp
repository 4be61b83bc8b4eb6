#pragma once

#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

namespace lowhiss {

/// The contents of one file. Every position in it shares ownership.
struct Source {
    std::string path;
    std::string text;
};

/// A place in a source file. Lines and columns count from 1, columns in code points; line 0 is the
/// file as a whole.
struct Position {
    std::shared_ptr<const Source> source;
    int line = 0;
    int column = 0;
};

enum class Severity { error, warning };

/// An error or warning as data: where it is, what was found, what is accepted and what to do.
struct Diagnostic {
    Severity severity = Severity::error;
    std::string code;  ///< stable, kebab-case: "unknown-key"
    Position at;
    std::string subject;   ///< part and key, "R1.tolerance"; may be empty
    std::string found;     ///< what is wrong
    std::string accepted;  ///< what would be right; may be empty
    std::string advice;    ///< what to do; may be empty
};

using Diagnostics = std::vector<Diagnostic>;

bool has_errors(const Diagnostics& diagnostics);

/// In the form of compiler messages: file:line:column, the line itself with a caret, then what is
/// accepted. Ends with a newline.
std::string to_text(const Diagnostic& diagnostic);

/// The one exception type of the engine.
class Error : public std::runtime_error {
  public:
    enum class Kind { unusable_input, no_unique_solution };

    Error(Kind kind, Diagnostics diagnostics);

    Kind kind() const { return kind_; }
    const Diagnostics& diagnostics() const { return diagnostics_; }

  private:
    Kind kind_;
    Diagnostics diagnostics_;
};

}  // namespace lowhiss
