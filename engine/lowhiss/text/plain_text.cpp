#include "lowhiss/text/plain_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <vector>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/source_line.hpp"
#include "lowhiss/text/utf8.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

constexpr int deepest = 32;

constexpr std::string_view conflict_begins = "<<<<<<< ";
constexpr std::string_view conflict_divides = "=======";
constexpr std::string_view conflict_ends = ">>>>>>> ";

Diagnostic fault(const Position& at, std::string found, std::string accepted, std::string advice) {
    return error_at(at, "syntax", "", std::move(found), std::move(accepted), std::move(advice));
}

std::optional<Diagnostic> fault_of_characters(const std::shared_ptr<const Source>& source) {
    std::string_view rest = content_of(*source);
    while (!rest.empty()) {
        const std::string_view here = rest;
        const char32_t c = take_code_point(rest);
        if (c == invalid_code_point) {
            return fault(position_of(source, here),
                         fmt::format("the byte {} is not UTF-8", quote(here.substr(0, 1))), "",
                         "save the file as UTF-8");
        }
        if (c == '\r' && !rest.starts_with('\n')) {
            return fault(position_of(source, here), "there is a carriage return within a line",
                         "lines that end in LF or CR LF",
                         "save the file with LF or CR LF line ends");
        }
        if (is_control(c) && c != '\t' && c != '\n' && c != '\r') {
            return fault(
                position_of(source, here),
                fmt::format("there is a control character (U+{:04X})", static_cast<unsigned>(c)),
                "no control characters except tabs and line ends", "delete it");
        }
    }
    return std::nullopt;
}

/// Non-ASCII spaces.
bool is_blank(char32_t c) {
    return c == 0xA0 || c == 0x1680 || (c >= 0x2000 && c <= 0x200A) || c == 0x202F || c == 0x205F ||
           c == 0x3000;
}

bool begins_word(std::string_view text) {
    return !text.empty() && std::isalnum(static_cast<unsigned char>(text[0])) != 0;
}

/// Follows quotes, comments and brackets as the parser does.
class Scanner {
  public:
    explicit Scanner(const std::shared_ptr<const Source>& source)
        : source_(source), rest_(content_of(*source)) {}

    std::optional<Diagnostic> run() {
        while (!rest_.empty() && !fault_) {
            const char c = rest_.front();
            if (is_mark_of_conflict())
                reject_conflict();
            else if (c == '#')
                skip(std::min(rest_.find('\n'), rest_.size()));
            else if (c == '"' || c == '\'')
                skip_quoted(c);
            else if (static_cast<unsigned char>(c) >= 0x80)
                reject_letter();
            else
                count(c);
        }
        return fault_;
    }

  private:
    void skip(std::size_t bytes) { rest_.remove_prefix(bytes); }

    /// Whether the line that begins here is one of those that a version control system puts around
    /// a merge conflict.
    bool is_mark_of_conflict() const {
        const std::string_view all = content_of(*source_);
        const std::size_t at = all.size() - rest_.size();
        if (at > 0 && all[at - 1] != '\n') return false;
        const std::string_view line = rest_.substr(0, rest_.find_first_of("\r\n"));
        return line.starts_with(conflict_begins) || line == conflict_divides ||
               line.starts_with(conflict_ends);
    }

    void reject_conflict() {
        const Position at = position_of(source_, rest_);
        std::string found = "there is an unresolved merge conflict";
        const auto end = rest_.find(fmt::format("\n{}", conflict_ends));
        if (end != std::string_view::npos) {
            found += fmt::format(" from line {} to {}", at.line,
                                 position_of(source_, rest_.substr(end + 1)).line);
        }
        fault_ = error_at(at, "merge-conflict", "", std::move(found), "",
                          "keep one of the two versions, and delete the lines that begin with "
                          "<<<<<<<, ======= and >>>>>>>");
    }

    void skip_quoted(char mark) {
        const std::string_view here = rest_;
        const std::string three(3, mark);
        const bool many_lines = rest_.starts_with(three);
        const std::string_view closing = std::string_view(three).substr(many_lines ? 0 : 2);
        skip(closing.size());
        while (!rest_.empty() && !rest_.starts_with(closing) && (many_lines || rest_[0] != '\n')) {
            const bool escape = mark == '"' && rest_[0] == '\\';
            skip(std::min<std::size_t>(escape ? 2 : 1, rest_.size()));
        }
        if (!rest_.starts_with(closing)) {
            return reject_quote(many_lines || doubtful_.empty() ? here : doubtful_, closing.size());
        }
        skip(closing.size());
        if (doubtful_.empty() && begins_word(rest_)) doubtful_ = here;
        // One or two such marks right before the closing ones belong to the text.
        for (int own = 0; many_lines && own < 2 && rest_.starts_with(mark); ++own) skip(1);
    }

    void reject_quote(std::string_view here, std::size_t bytes) {
        const bool many_lines = bytes > 1;
        const std::string_view mark = here.substr(0, bytes);
        fault_ = fault(position_of(source_, here),
                       many_lines ? fmt::format("this {} is not closed", mark)
                                  : fmt::format("a {} is not closed on this line", mark),
                       fmt::format("a closing {} at the end of the text", mark),
                       many_lines ? "" : "check the quotes of this line");
    }

    void reject_letter() {
        const std::string_view here = rest_;
        const char32_t c = take_code_point(rest_);
        const bool quotes = c >= 0x2018 && c <= 0x201F;
        const bool blank = is_invisible(c) || is_blank(c);
        const std::string_view letter = here.substr(0, here.size() - rest_.size());
        fault_ = fault(position_of(source_, here),
                       fmt::format("{} (U+{:04X}) is outside quotes",
                                   blank ? "an invisible character" : fmt::format("'{}'", letter),
                                   static_cast<unsigned>(c)),
                       "non-ASCII characters only in quotes and comments",
                       quotes  ? "write \" instead"
                       : blank ? "write a plain space instead"
                               : "put the text in quotes");
    }

    /// Brackets nest, and so do dotted keys.
    void count(char c) {
        const int base = open_.empty() ? 0 : open_.back() + 1;
        if (c == '[' || c == '{') open_.push_back(depth_);
        if (c == '[' || c == '{' || c == '.') ++depth_;
        if (c == ',' || c == '\n') depth_ = base;
        if (c == '\n') doubtful_ = {};
        if ((c == ']' || c == '}') && !open_.empty()) {
            depth_ = open_.back();
            open_.pop_back();
        }
        if (depth_ > deepest) {
            fault_ = fault(position_of(source_, rest_),
                           fmt::format("tables and lists are nested more than {} deep", deepest),
                           "", "a board needs no more than six levels");
        }
        skip(1);
    }

    std::shared_ptr<const Source> source_;
    std::string_view rest_;
    std::string_view doubtful_;  ///< the first text of this line with a word right after it
    std::vector<int> open_;      ///< the depth outside each open bracket
    int depth_ = 0;
    std::optional<Diagnostic> fault_;
};

}  // namespace

std::optional<Diagnostic> fault_of_text(const std::shared_ptr<const Source>& source) {
    auto fault = fault_of_characters(source);
    return fault ? fault : Scanner(source).run();
}

}  // namespace lowhiss
