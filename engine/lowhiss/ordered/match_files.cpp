#include "lowhiss/ordered/match_files.hpp"

#include <algorithm>
#include <map>
#include <memory>
#include <set>
#include <utility>

#include "lowhiss/ordered/copper.hpp"
#include "lowhiss/ordered/test_file.hpp"
#include "lowhiss/ordered/units.hpp"
#include "lowhiss/text/open.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

template <class Item>
void add_once(std::vector<Item>& list, const Item& line) {
    if (std::find(list.begin(), list.end(), line) == list.end()) list.push_back(line);
}

/// Gathers the findings of all assemblies.
class Reporter {
  public:
    Reporter(const Board& board, std::size_t assemblies) : assemblies_(assemblies) {
        report_.board = board.name;
        report_.revision = board.revision;
        report_.path = board.path;
        report_.set = board.set;
    }

    void add(const Match& match, const std::string& variant) {
        for (const OrderFinding& finding : match.findings) {
            const auto key = std::pair(finding.kind, finding.text);
            const auto [place, is_new] = index_.emplace(key, report_.findings.size());
            if (is_new) report_.findings.push_back({finding, {}});
            add_once(report_.findings[place->second].variants, variant);
        }
        for (const std::string& line : match.not_compared) add_once(report_.not_compared, line);
        for (const std::string& line : match.notes) add_once(report_.notes, line);
        for (const ExchangedUnit& unit : match.units) add_once(report_.units, unit);
        report_.parts = std::max(report_.parts, match.parts);
        report_.pins = std::max(report_.pins, match.pins);
        report_.nodes = std::max(report_.nodes, match.nodes);
    }

    void not_compared(const std::string& line) { add_once(report_.not_compared, line); }

    MatchReport report() {
        for (ReportedFinding& each : report_.findings) {
            if (each.variants.size() == assemblies_) each.variants.clear();
        }
        std::stable_sort(report_.findings.begin(), report_.findings.end(),
                         [](const ReportedFinding& a, const ReportedFinding& b) {
                             return is_worse(a.finding, b.finding);
                         });
        return std::move(report_);
    }

  private:
    std::size_t assemblies_;
    MatchReport report_;
    std::map<std::pair<FindingKind, std::string>, std::size_t> index_;
};

/// Whether no name may be cut, as in copper layers: these then decide the findings that rest on a
/// cut name alone.
bool names_are_whole(const OrderedNets& nets) {
    return std::none_of(nets.pins.begin(), nets.pins.end(),
                        [](const OrderedPin& pin) { return pin.net_may_be_cut; });
}

}  // namespace

std::optional<Ordered> read_ordered(const OrderedFiles& files, const FileReader& reader,
                                    Diagnostics& out) {
    const FileReader within = within_budget(reader);
    Ordered ordered;
    Diagnostics found;
    std::vector<std::shared_ptr<const Source>> layers;
    const auto read_list = [&](const std::shared_ptr<const Source>& source,
                               const std::string& variant) {
        auto materials = read_materials(source, files.reading, found);
        if (materials) ordered.materials.emplace_back(variant, *std::move(materials));
    };
    for (const std::string& path : files.paths) {
        const auto source = open_source(path, within, {}, "", found);
        if (!source) continue;
        if (is_layer(source->text)) {
            layers.push_back(source);
        } else if (is_test_file(source->text)) {
            if (auto nets = read_test_file(source, found)) ordered.nets.push_back(*std::move(nets));
        } else {
            read_list(source, std::string(plain_variant));
        }
    }
    for (const auto& [variant, path] : files.materials) {
        if (const auto source = open_source(path, within, {}, "", found))
            read_list(source, variant);
    }
    if (!layers.empty()) {
        if (auto nets = read_copper(layers, found)) ordered.nets.push_back(*std::move(nets));
    }
    const bool failed = has_errors(found);
    out.insert(out.end(), found.begin(), found.end());
    if (failed) return {};
    return ordered;
}

MatchReport match_ordered(const Board& board, const Ordered& ordered) {
    Reporter reporter(board, board.variants.size() + 1);
    const bool sure = std::any_of(ordered.nets.begin(), ordered.nets.end(), names_are_whole);
    const auto compare = [&](const Variant* variant) {
        const Board assembled = with_variant(board, variant);
        const std::string name = variant ? variant->name : std::string(plain_variant);
        std::set<std::string> extra;
        for (const OrderedNets& nets : ordered.nets) {
            Match match = match_units(assembled, nets);
            if (sure) {
                std::erase_if(match.findings, [](const OrderFinding& finding) {
                    return finding.kind == FindingKind::may_be_cut;
                });
            }
            for (const OrderFinding& finding : match.findings) {
                if (finding.kind == FindingKind::extra_part) extra.insert(finding.pins.front());
            }
            reporter.add(match, name);
        }
        for (const auto& [owner, materials] : ordered.materials) {
            if (owner != name) continue;
            Match match = match_materials(assembled, materials);
            std::erase_if(match.findings, [&](const OrderFinding& finding) {
                return finding.kind == FindingKind::extra_part &&
                       extra.contains(finding.pins.front());
            });
            reporter.add(match, name);
        }
    };
    compare(nullptr);
    for (const Variant& variant : board.variants) compare(&variant);
    if (ordered.nets.empty()) reporter.not_compared("nets: no test file and no copper layers");
    if (ordered.materials.empty()) reporter.not_compared("values: no list of materials");
    return reporter.report();
}

}  // namespace lowhiss
