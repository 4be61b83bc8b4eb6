#include "lowhiss/board/library_models.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/board/readers.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/text/library.hpp"

namespace lowhiss {
namespace {

/// A figure that is left out is unset, unless its field has a value for that case, as the 1 mA of
/// a transistor's `current`. Zero and infinity only stand for its absence.
template <class Owner>
void collect_figures(std::span<const Field<Owner>> fields, Owner& owner, const Node::Table& stated,
                     std::vector<ModelFigure>& out) {
    for (const Field<Owner>& field : fields) {
        const double value = field.slot(owner);
        const bool counts = find(stated, field.key) || (std::isfinite(value) && value != 0);
        out.push_back({field.key, field.unit, counts ? value : unset});
    }
}

/// Makes the record of a model from its own table in a library.
class Lister {
  public:
    Lister(const Node::Table& stated, LibraryModel& listed) : stated_(stated), listed_(listed) {}

    void operator()(OpAmpModel model) { amplifier(opamp_fields(), model); }
    void operator()(PreampIcModel model) { amplifier(preamp_ic_fields(), model); }
    void operator()(BipolarModel model) {
        listed_.word = model.pnp ? "pnp" : "npn";
        add(bipolar_fields(), model);
    }
    void operator()(JfetModel model) {
        listed_.word = model.p_channel ? "p-channel" : "n-channel";
        add(jfet_fields(), model);
    }
    void operator()(BatteryModel model) { add(battery_fields(), model); }
    void operator()(Capsule model) {
        const CapsuleSchema& schema = capsule_schemas()[model.impedance.index()];
        listed_.word = schema.kind;
        add(schema.fields, model);
    }

  private:
    template <class Model>
    void add(std::span<const Field<Model>> fields, Model& model) {
        collect_figures(fields, model, stated_, listed_.figures);
        listed_.source = model.source;
        listed_.model = std::move(model);
    }

    template <class Model>
    void amplifier(std::span<const Field<Model>> own, Model& model) {
        collect_figures(own, model, stated_, listed_.figures);
        collect_figures(amplifier_fields(), model.common, stated_, listed_.figures);
        listed_.source = model.source;
        listed_.model = std::move(model);
    }

    const Node::Table& stated_;
    LibraryModel& listed_;
};

/// Calls the lister with the model of the definition; nothing for a pinout.
bool list_model(const ModelDefinition& model, const Models& models, Lister lister) {
    const auto of = [&](const char* table, const auto& all) {
        if (model.table != table) return false;
        lister(all.find(model.definition.key)->second);
        return true;
    };
    return of("opamp", models.opamps) || of("preamp_ic", models.preamp_ics) ||
           of("bipolar", models.bipolars) || of("jfet", models.jfets) ||
           of("capsule", models.capsules) || of("battery", models.batteries);
}

}  // namespace

std::vector<LibraryModel> library_models() {
    const FileReader no_disk([](const std::string&) -> FileReader::Content {
        return Unreadable{"a library file can include only files of the library"};
    });
    Diagnostics diagnostics;
    std::vector<ModelDefinition> definitions;
    for (const std::string& name : library_names()) {
        const LoadedBoard loaded = load_board(name, no_disk, diagnostics);
        definitions.insert(definitions.end(), loaded.models.begin(), loaded.models.end());
    }
    const Models models = read_models(definitions, no_disk, diagnostics);
    if (has_errors(diagnostics)) throw Error(Error::Kind::unusable_input, std::move(diagnostics));
    std::vector<LibraryModel> listed;
    for (const ModelDefinition& definition : definitions) {
        LibraryModel model{definition.table,
                           definition.definition.key,
                           definition.definition.at.source->path,
                           "",
                           "",
                           {},
                           {}};
        const Node::Table& stated = *definition.definition.value.table();
        if (list_model(definition, models, Lister(stated, model))) {
            listed.push_back(std::move(model));
        }
    }
    return listed;
}

const ModelFigure* find_figure(const LibraryModel& model, std::string_view key) {
    const auto found = std::find_if(model.figures.begin(), model.figures.end(),
                                    [&](const ModelFigure& figure) { return figure.key == key; });
    return found == model.figures.end() ? nullptr : &*found;
}

}  // namespace lowhiss
