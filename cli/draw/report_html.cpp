#include "draw/report_html.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string_view>

#include "draw/page.hpp"
#include "lowhiss/quantity/decimal.hpp"
#include "shell/names.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/json.hpp"
#include "write/match_text.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

/// Values to five digits, finer than any screen; null if undefined.
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

Json breakdown_json(const Breakdown& breakdown) {
    Json beyond = Json::array();
    for (const auto& [name, share] : breakdown.beyond) {
        beyond.push_back({{"name", name}, {"y", numbers(share)}});
    }
    return {{"at", breakdown.at},
            {"unit", breakdown.unit},
            {"where", breakdown.where},
            {"whole", numbers(breakdown.whole)},
            {"beyond", std::move(beyond)}};
}

/// `frequencies` are those of the chart itself, or left to the first chart of the assembly.
std::string chart_json(const Chart& chart, bool frequencies) {
    Json curves = Json::array();
    for (std::size_t k = 0; k < chart.curves.size(); ++k) {
        const Curve& curve = chart.curves[k];
        const bool area = curve.kind == Curve::Kind::area;
        Json json{{"name", curve.name},
                  {"kind", kind_word(curve.kind)},
                  {"y", numbers(area ? own_share(curve) : curve.y)}};
        if (area) json["colour"] = k;
        if (curve.rest) json["rest"] = true;
        // dygraphs stacks its first series on top, gnuplot at the bottom.
        curves.insert(area ? curves.begin() : curves.end(), std::move(json));
    }
    Json document{{"y_label", chart.y_label},
                  {"log_y", chart.log_y},
                  {"by_knob", chart.by_knob},
                  {"curves", std::move(curves)}};
    if (frequencies) document["frequency_hz"] = numbers(chart.frequency_hz);
    if (chart.breakdown) document["breakdown"] = breakdown_json(*chart.breakdown);
    return script_json(document);
}

/// gnuplot's SVG from the root element on, without definitions of marks that no curve uses and
/// whose names would repeat in every picture, empty groups, and blanks. One pass, whatever the
/// names in it are.
class SvgElement {
  public:
    explicit SvgElement(std::string_view svg)
        : rest_(svg.substr(std::min(svg.find("<svg"), svg.size()))) {}

    std::string text() {
        while (!rest_.empty()) {
            if (rest_.front() == '<')
                take_tag();
            else
                put(taken(rest_.find('<')));
        }
        return std::move(text_);
    }

  private:
    /// The next `count` bytes, or all.
    std::string_view taken(std::size_t count) {
        const std::string_view piece = rest_.substr(0, count);
        rest_.remove_prefix(piece.size());
        return piece;
    }

    void put(std::string_view piece) {
        for (const char c : piece) {
            const bool blank = c == ' ' || c == '\n' || c == '\t' || c == '\r';
            if (blank && text_.ends_with(' ')) continue;
            text_ += blank ? ' ' : c;
        }
    }

    void take_tag() {
        for (const std::string_view name : {"defs", "title", "desc"}) {
            if (!rest_.starts_with(fmt::format("<{}>", name))) continue;
            const std::string end = fmt::format("</{}>", name);
            taken(std::min(rest_.find(end), rest_.size()) + end.size());
            return;
        }
        const std::size_t begin = text_.size();
        put(without_id(taken(std::min(rest_.find('>'), rest_.size()) + 1)));
        const std::string_view tag = std::string_view(text_).substr(begin);
        if (tag.starts_with("<g ") || tag == "<g>") groups_.push_back({begin, text_.size()});
        if (tag == "</g>" && !groups_.empty()) close_group(begin);
    }

    static std::string without_id(std::string_view tag) {
        const std::size_t begin = tag.find(" id=\"");
        if (begin == std::string_view::npos) return std::string(tag);
        const std::size_t end = tag.find('"', begin + 5);
        return std::string(tag.substr(0, begin)) +
               std::string(tag.substr(std::min(end, tag.size() - 1) + 1));
    }

    void close_group(std::size_t end) {
        const Group group = groups_.back();
        groups_.pop_back();
        const std::string_view inside =
            std::string_view(text_).substr(group.inside, end - group.inside);
        if (inside.find_first_not_of(' ') == std::string_view::npos) text_.resize(group.begin);
    }

    struct Group {
        std::size_t begin;   ///< of its first tag
        std::size_t inside;  ///< after that tag
    };
    std::string_view rest_;
    std::string text_;
    std::vector<Group> groups_;
};

class PageWriter {
  public:
    std::string page(const std::vector<ReportedBoard>& boards,
                     const std::vector<EmbeddedSound>& sounds, bool pictures) {
        std::string names;
        for (const ReportedBoard& board : boards) {
            names += (names.empty() ? "" : "; ") + name_of(board);
        }
        add("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        add(fmt::format("<title>{}</title>\n<style>\n{}{}</style>\n</head>\n<body>\n",
                        for_html(names), page_library_css(), page_css()));
        add(fmt::format("<h1>{}</h1>\n", for_html(names)));
        if (!pictures) {
            add("<p class=\"faint\">Made without gnuplot: the pictures need JavaScript.</p>\n");
        }
        write(sounds);
        for (const ReportedBoard& board : boards) write(board, boards.size() > 1);
        add(fmt::format("<script>{}</script>\n<script>{}</script>\n</body>\n</html>\n",
                        page_library_js(), page_js()));
        return std::move(text_);
    }

  private:
    void add(std::string_view text) { text_ += text; }

    static std::string name_of(const ReportedBoard& board) {
        return board_title(board.name, board.revision);
    }

    /// The title of the page is that of its only board.
    void write(const ReportedBoard& board, bool titled) {
        add("<section>\n");
        if (titled) add(fmt::format("<h2>{}</h2>\n", for_html(name_of(board))));
        write_verdicts(board);
        write_changes(board);
        if (board.match) write(*board.match);
        if (!board.choose_title.empty()) {
            add(
                fmt::format("<details open><summary><strong>{}</strong></summary>\n<pre>{}</pre>\n"
                            "</details>\n",
                            for_html(board.choose_title), for_html(board.choose)));
        }
        bool first = true;
        for (const ReportedAssembly& assembly : board.assemblies) {
            write(assembly, first);
            first = false;
        }
        write_parts(board);
        add("</section>\n");
    }

    void write(const std::vector<EmbeddedSound>& sounds) {
        if (sounds.empty()) return;
        add("<section>\n<h2>Sound</h2>\n<p class=\"faint\">Computed, not recorded. Begin with the "
            "volume down.</p>\n");
        for (const EmbeddedSound& sound : sounds) {
            add(
                fmt::format("<figure class=\"sound\">\n<figcaption>{}</figcaption>\n"
                            "<audio controls preload=\"auto\" src=\"data:{};base64,{}\"></audio>\n"
                            "</figure>\n",
                            for_html(sound.name), sound.type, base64(sound.bytes)));
        }
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
            if (v.of_limit || is_good(v)) continue;
            add(fmt::format("<p class=\"fail\">{}: {}: {}: {}</p>\n", outcome_word(v.outcome),
                            for_html(v.limit), for_html(place_text(v.variant, v.capsule, v.knob)),
                            for_html(v.reason)));
        }
        if (limits > 0) {
            add(fmt::format("<p class=\"{}\">{}: {} of {} limit checks pass</p>\n",
                            all ? "pass" : "fail", all ? "PASS" : "FAIL", met, limits));
        }
        write_table(board.verdicts, false);
        if (met == 0) return;
        add(fmt::format("<details><summary>{} that pass{}</summary>\n", met, met == 1 ? "es" : ""));
        write_table(board.verdicts, true);
        add("</details>\n");
    }

    /// The verdicts that pass, or all others; nothing if there is none.
    void write_table(const std::vector<Verdict>& verdicts, bool passed) {
        const auto wanted = [&](const Verdict& v) {
            return (v.outcome == Outcome::pass) == passed;
        };
        if (std::none_of(verdicts.begin(), verdicts.end(), wanted)) return;
        add("<div class=\"wide\"><table class=\"verdicts\">\n<tr><th>verdict</th><th>limit</th>"
            "<th>where</th><th>figure</th><th>accepted</th></tr>\n");
        for (const Verdict& v : verdicts) {
            if (wanted(v)) write(v);
        }
        add("</table></div>\n");
    }

    /// The name of a measure in words: "low corner", "EIN, A-weighted".
    static std::string in_words(std::string_view measure) {
        if (measure == "ein_a") return "EIN, A-weighted,";
        if (measure == "ein_468") return "EIN by BS.468";
        if (measure == "ein") return "EIN";
        std::string words(measure);
        std::replace(words.begin(), words.end(), '_', ' ');
        return words;
    }

    static std::string figure_in_words(const Verdict& v) {
        std::string text = measured_text(v);
        if (v.measure.empty() || !text.starts_with(v.measure)) return text;
        return in_words(v.measure) + text.substr(v.measure.size());
    }

    static std::string verdict_figure(const Verdict& v) {
        std::string text = v.reason.empty() ? figure_in_words(v) : v.reason;
        if (!v.look_at.empty()) text += fmt::format("; main parts: {}", fmt::join(v.look_at, ", "));
        return text;
    }

    void write(const Verdict& v) {
        add(
            fmt::format("<tr><td class=\"{}\">{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td>"
                        "</tr>\n",
                        is_good(v) ? "pass" : "fail", outcome_word(v.outcome), for_html(v.limit),
                        for_html(place_text(v.variant, v.capsule, v.knob)),
                        for_html(verdict_figure(v)), for_html(bounds_text(v))));
    }

    void write_changes(const ReportedBoard& board) {
        if (board.changed_from.empty()) return;
        add(fmt::format("<h3>Changes from {}</h3>\n", for_html(board.changed_from)));
        if (board.changes.empty()) return add("<p>No change that affects its figures.</p>\n");
        add("<ul>\n");
        for (const BoardChange& change : board.changes) {
            add(fmt::format("<li>{}</li>\n", for_html(change_text(change))));
        }
        add("</ul>\n");
    }

    void write(const MatchReport& match) {
        add("<h3>The data it is ordered by</h3>\n");
        const std::size_t count = match.findings.size();
        if (count == 0) {
            add("<p class=\"pass\">PASS: what was compared agrees</p>\n");
        } else {
            add(fmt::format("<p class=\"fail\">FAIL: {} difference{}</p>\n<ul>\n", count,
                            count == 1 ? "" : "s"));
            for (const ReportedFinding& each : match.findings) {
                add(fmt::format("<li>{}</li>\n", for_html(finding_line(each))));
            }
            add("</ul>\n");
        }
        add(fmt::format("<p>Compared: {} parts, {} pins, {} nodes</p>\n", match.parts, match.pins,
                        match.nodes));
        if (match.not_compared.empty() && match.notes.empty()) return;
        add("<details><summary>Not compared, and notes</summary>\n<ul>\n");
        for (const std::string& line : match.not_compared) {
            add(fmt::format("<li>not compared: {}</li>\n", for_html(line)));
        }
        for (const std::string& line : match.notes) {
            add(fmt::format("<li>{}</li>\n", for_html(line)));
        }
        add("</ul>\n</details>\n");
    }

    /// The first assembly is open, and each that has alarms.
    void write(const ReportedAssembly& assembly, bool first) {
        add(fmt::format(
            "<details{}><summary><strong>{}</strong></summary>\n"
            "<div class=\"assembly\">\n",
            first || !assembly.alarms.empty() ? " open" : "", for_html(assembly.title)));
        for (const std::string& alarm : assembly.alarms) {
            add(fmt::format("<p class=\"fail\">ALARM: {}</p>\n", for_html(alarm)));
        }
        if (!assembly.summary.empty()) {
            add(fmt::format("<pre>{}</pre>\n", for_html(assembly.summary)));
        }
        const std::vector<Chart>& charts = assembly.sheet.charts;
        for (std::size_t k = 0; k < charts.size(); ++k) {
            const bool drawn = k < assembly.pictures.size();
            const bool own = k == 0 || charts[k].frequency_hz != charts[0].frequency_hz;
            write(charts[k], drawn ? SvgElement(assembly.pictures[k]).text() : "", own);
        }
        if (!assembly.distortion.empty()) {
            write_fold("Distortion: harmonics of a sine at the output", assembly.distortion);
        }
        write_fold("All figures", assembly.tables);
        add("</div>\n</details>\n");
    }

    void write_fold(std::string_view title, const std::string& table) {
        add(fmt::format("<details><summary>{}</summary>\n<pre>{}</pre>\n</details>\n", title,
                        for_html(table)));
    }

    void write(const Chart& chart, std::string_view picture, bool frequencies) {
        add(fmt::format("<figure>\n<figcaption>{}</figcaption>\n<div class=\"still\">{}</div>\n",
                        for_html(chart.title), picture));
        add(fmt::format(
            "<div class=\"live\">\n<div class=\"plot\" tabindex=\"0\" role=\"img\" "
            "aria-label=\"{}: {} over frequency; arrow keys read values, plus and minus zoom, 0 "
            "shows all\"></div>\n<output aria-live=\"polite\"></output>\n<div class=\"curves\">"
            "</div>\n<button type=\"button\">show all</button>\n</div>\n",
            for_html(chart.title), for_html(chart.y_label)));
        add(fmt::format("<script type=\"application/json\">{}</script>\n</figure>\n",
                        chart_json(chart, frequencies)));
    }

    void write_parts(const ReportedBoard& board) {
        add("<details><summary>Parts and models</summary>\n<div class=\"wide\"><table>\n"
            "<tr><th>part</th><th>description</th><th>nodes</th></tr>\n");
        for (const BoardLine& line : board.parts) {
            add(fmt::format("<tr><td>{}</td><td>{}</td><td>{}</td></tr>\n", for_html(line.name),
                            for_html(line.text),
                            for_html(fmt::format("{}", fmt::join(line.nodes, ", ")))));
        }
        add("</table></div>\n</details>\n");
    }

    std::string text_;
};

}  // namespace

std::string report_html(const std::vector<ReportedBoard>& boards,
                        const std::vector<EmbeddedSound>& sounds, bool pictures) {
    return PageWriter().page(boards, sounds, pictures);
}

}  // namespace lowhiss::cli
