#include "draw/report_html.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>

#include "draw/page.hpp"
#include "lowhiss/quantity/decimal.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/json.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

/// Text without markup, for an element or an attribute.
std::string escaped(std::string_view text) {
    std::string result;
    for (const char c : text) {
        switch (c) {
            case '&':
                result += "&amp;";
                break;
            case '<':
                result += "&lt;";
                break;
            case '>':
                result += "&gt;";
                break;
            case '"':
                result += "&quot;";
                break;
            case '\'':
                result += "&#39;";
                break;
            default:
                result += c;
        }
    }
    return result;
}

/// To five digits, finer than any screen; null where undefined.
Json numbers(const std::vector<double>& values) {
    Json list = Json::array();
    for (const double value : values) {
        list.push_back(std::isfinite(value) ? Json(nearest_double(rounded_decimal(value, 5)))
                                            : Json());
    }
    return list;
}

std::string_view kind_word(Curve::Kind kind) {
    switch (kind) {
        case Curve::Kind::area:
            return "area";
        case Curve::Kind::band:
            return "band";
        case Curve::Kind::bound:
            return "bound";
        case Curve::Kind::dashed:
        case Curve::Kind::line:
            break;
    }
    return "line";
}

/// A part's own share of a stack; dygraphs stacks them itself.
std::vector<double> own_share(const Curve& curve) {
    std::vector<double> share = curve.y;
    for (std::size_t k = 0; k < share.size(); ++k) share[k] -= curve.low[k];
    return share;
}

/// JSON for a script element, which ends at the first "</" even inside quotes.
std::string chart_json(const Chart& chart) {
    Json curves = Json::array();
    for (const Curve& curve : chart.curves) {
        const bool area = curve.kind == Curve::Kind::area;
        curves.push_back({{"name", curve.name},
                          {"kind", kind_word(curve.kind)},
                          {"y", numbers(area ? own_share(curve) : curve.y)}});
    }
    const Json document{{"y_label", chart.y_label},
                        {"log_y", chart.log_y},
                        {"by_knob", chart.by_knob},
                        {"frequency_hz", numbers(chart.frequency_hz)},
                        {"curves", std::move(curves)}};
    std::string text = document.dump(-1, ' ', false, Json::error_handler_t::replace);
    std::string safe;
    for (const char c : text) safe += c == '<' ? std::string("\\u003c") : std::string(1, c);
    return safe;
}

/// gnuplot's SVG from the root element on, without definitions of marks that no curve uses and
/// whose names would repeat in every picture, empty groups, and blanks.
std::string svg_element(const std::string& svg) {
    const auto begin = svg.find("<svg");
    if (begin == std::string::npos) return "";
    static const std::regex unused(
        R"(<defs>[^]*?</defs>|<title>[^<]*</title>|<desc>[^<]*</desc>| id="[^"]*")");
    static const std::regex empty(R"(<g [^>]*>\s*</g>)");
    static const std::regex blanks(R"(\s+)");
    std::string text = std::regex_replace(svg.substr(begin), unused, "");
    for (std::size_t before = 0; before != text.size();) {
        before = text.size();
        text = std::regex_replace(text, empty, "");
    }
    return std::regex_replace(text, blanks, " ");
}

class PageWriter {
  public:
    std::string page(const std::vector<ReportedBoard>& boards, bool pictures) {
        std::string names;
        for (const ReportedBoard& board : boards) {
            names += (names.empty() ? "" : "; ") + name_of(board);
        }
        add("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        add(fmt::format("<title>{}</title>\n<style>\n{}{}</style>\n</head>\n<body>\n",
                        escaped(names), page_library_css(), page_css()));
        add(fmt::format("<h1>{}</h1>\n", escaped(names)));
        if (!pictures) {
            add("<p class=\"faint\">Made without gnuplot: the pictures need JavaScript.</p>\n");
        }
        for (const ReportedBoard& board : boards) write(board);
        add(fmt::format("<script>{}</script>\n<script>{}</script>\n</body>\n</html>\n",
                        page_library_js(), page_js()));
        return std::move(text_);
    }

  private:
    void add(std::string_view text) { text_ += text; }

    static std::string name_of(const ReportedBoard& board) {
        return board_title(board.name, board.revision);
    }

    void write(const ReportedBoard& board) {
        add(fmt::format("<section>\n<h2>{}</h2>\n", escaped(name_of(board))));
        write_verdicts(board);
        write_changes(board);
        bool first = true;
        for (const ReportedAssembly& assembly : board.assemblies) {
            write(assembly, first);
            first = false;
        }
        write_parts(board);
        add("</section>\n");
    }

    void write_verdicts(const ReportedBoard& board) {
        const auto count = [&](auto wanted) {
            return std::count_if(board.verdicts.begin(), board.verdicts.end(), wanted);
        };
        const auto limits = count([](const Verdict& v) { return v.of_limit; });
        const auto met = count([](const Verdict& v) { return v.outcome == Outcome::pass; });
        const bool all = count(is_good) == std::ssize(board.verdicts);
        if (limits == 0) add("<p>No limits defined.</p>\n");
        if (board.verdicts.empty()) return;
        for (const Verdict& v : board.verdicts) {
            if (v.of_limit || v.outcome != Outcome::fail) continue;
            add(fmt::format("<p class=\"fail\">FAIL: {}: {}: {}</p>\n", escaped(v.limit),
                            escaped(place_text(v.variant, v.capsule, v.knob)), escaped(v.reason)));
        }
        if (limits > 0) {
            add(fmt::format("<p class=\"{}\">{}: {} of {} limit checks pass</p>\n",
                            all ? "pass" : "fail", all ? "PASS" : "FAIL", met, limits));
        }
        add("<div class=\"wide\"><table>\n<tr><th>verdict</th><th>limit</th><th>where</th>"
            "<th>figure</th><th>accepted</th></tr>\n");
        for (const Verdict& v : board.verdicts) write(v);
        add("</table></div>\n");
    }

    static bool is_good(const Verdict& v) {
        return v.outcome == Outcome::pass || v.outcome == Outcome::accepted;
    }

    static std::string verdict_figure(const Verdict& v) {
        std::string text = v.reason.empty() ? measured_text(v) : v.reason;
        if (!v.look_at.empty()) text += fmt::format("; main parts: {}", fmt::join(v.look_at, ", "));
        return text;
    }

    void write(const Verdict& v) {
        add(
            fmt::format("<tr><td class=\"{}\">{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td>"
                        "</tr>\n",
                        is_good(v) ? "pass" : "fail", outcome_word(v.outcome), escaped(v.limit),
                        escaped(place_text(v.variant, v.capsule, v.knob)),
                        escaped(verdict_figure(v)), escaped(bounds_text(v))));
    }

    void write_changes(const ReportedBoard& board) {
        if (board.changed_from.empty()) return;
        add(fmt::format("<h3>Changes from {}</h3>\n", escaped(board.changed_from)));
        if (board.changes.empty()) return add("<p>No change that affects its figures.</p>\n");
        add("<ul>\n");
        for (const BoardChange& change : board.changes) {
            add(fmt::format("<li>{}</li>\n", escaped(change_text(change))));
        }
        add("</ul>\n");
    }

    /// The first assembly is open, the others closed.
    void write(const ReportedAssembly& assembly, bool open) {
        add(
            fmt::format("<details{}><summary><strong>{}</strong></summary>\n"
                        "<div class=\"assembly\">\n",
                        open ? " open" : "", escaped(assembly.title)));
        if (!assembly.summary.empty()) {
            add(fmt::format("<pre>{}</pre>\n", escaped(assembly.summary)));
        }
        for (std::size_t k = 0; k < assembly.sheet.charts.size(); ++k) {
            const bool drawn = k < assembly.pictures.size();
            write(assembly.sheet.charts[k], drawn ? svg_element(assembly.pictures[k]) : "");
        }
        add(fmt::format("<details><summary>All figures</summary>\n<pre>{}</pre>\n</details>\n",
                        escaped(assembly.tables)));
        add("</div>\n</details>\n");
    }

    void write(const Chart& chart, std::string_view picture) {
        add(fmt::format("<figure>\n<figcaption>{}</figcaption>\n<div class=\"still\">{}</div>\n",
                        escaped(chart.title), picture));
        add(fmt::format(
            "<div class=\"live\">\n<div class=\"plot\" tabindex=\"0\" role=\"img\" "
            "aria-label=\"{}: {} over frequency; arrow keys read values, plus and minus zoom, 0 "
            "shows all\"></div>\n<output aria-live=\"polite\"></output>\n<div class=\"curves\">"
            "</div>\n<button type=\"button\">show all</button>\n</div>\n",
            escaped(chart.title), escaped(chart.y_label)));
        add(fmt::format("<script type=\"application/json\">{}</script>\n</figure>\n",
                        chart_json(chart)));
    }

    void write_parts(const ReportedBoard& board) {
        add("<details><summary>Parts and models</summary>\n<div class=\"wide\"><table>\n"
            "<tr><th>part</th><th>description</th><th>nodes</th></tr>\n");
        for (const BoardLine& line : board.parts) {
            add(fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td></tr>\n", escaped(line.name),
                            escaped(line.text),
                            escaped(fmt::format("{}", fmt::join(line.nodes, ", ")))));
        }
        add("</table></div>\n</details>\n");
    }

    std::string text_;
};

}  // namespace

std::string report_html(const std::vector<ReportedBoard>& boards, bool pictures) {
    return PageWriter().page(boards, pictures);
}

}  // namespace lowhiss::cli
