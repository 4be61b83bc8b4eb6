"""Board file to plain parts with 40-digit figures."""
import copy
import tomllib
from pathlib import Path

from capsule import load
from quantities import number

KINDS = ("resistor", "capacitor", "inductor", "transformer", "potentiometer", "link", "opamp", "preamp_ic",
         "voltage_gain", "transconductance", "transresistance", "current_gain", "voltage_source", "current_source")
MODEL_TABLES = ("opamp", "preamp_ic", "capsule")
# Keys whose texts are names or words, never figures (a node may be called "2n").
WORDS = {"note", "source", "kind", "file", "link", "opamp", "preamp_ic", "plus", "minus", "out", "reference",
         "fitted", "extrapolate", "pins", "from", "into", "control", "gain_pins", "primary", "secondary", "capsule"}


class Board:
    """A board as one variant builds it: parts, models and ports; figures are mpf, names are text."""

    def __init__(self, tree, variant=None, capsule=None):
        table = tree.get("board", {})
        chosen = tree.get("variants", {})[variant] if variant else {}
        self.tree, self.name, self.revision = tree, table.get("name"), table.get("revision")
        self.ground = table.get("ground", "gnd")
        self.temperature = number(table.get("temperature", "20 degC"))
        self.input, self.output = (port(tree[end], self.ground) for end in ("input", "output"))
        self.models = {kind: {k: figures(v) for k, v in tree[kind].items()} for kind in ("opamp", "preamp_ic")}
        self.capsule_name = capsule or chosen.get("capsule") or self.input.get("capsule")
        self.capsule = figures(tree["capsule"][self.capsule_name]) if self.capsule_name else None
        if self.capsule and self.capsule["kind"] == "measured":
            self.capsule["points"] = load(self.capsule["file"])
        parts = apply_set(tree.get("parts", {}), chosen.get("set", {}))
        self.parts = {ref: flatten(part) for ref, part in parts.items() if part.get("fitted", True)}
        knob = tree.get("knob", {})
        self.knob_parts = [knob["part"]] if isinstance(knob.get("part"), str) else knob.get("part", [])
        self.positions = knob.get("positions", [0.0, 0.25, 0.5, 0.75, 1.0]) if knob else [None]


def port(table, ground):
    """[input] or [output]: the other end is ground unless said."""
    return figures({"minus": ground, **table})


def read(path):
    """The merged TOML tree of a board and of every file it starts from or includes."""
    path = Path(path)
    own = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    board = own.get("board", {})
    tree = {kind: {} for kind in MODEL_TABLES}
    if "based_on" in board:
        tree = read(path.parent / board["based_on"])
    for name in board.get("include", []):
        add_models(tree, read(path.parent / name))
    for capsule in own.get("capsule", {}).values():
        if "file" in capsule:
            capsule["file"] = str(path.parent / capsule["file"])
    add_models(tree, own)
    for ref in board.get("remove", []):
        del tree["parts"][ref]
    tree.setdefault("parts", {}).update(own.get("parts", {}))
    merge(tree, {k: v for k, v in own.items() if k not in ("parts", "limit", *MODEL_TABLES)})
    return tree


def add_models(tree, other):
    """Models may meet again only if they are equal."""
    for kind in MODEL_TABLES:
        for name, model in other.get(kind, {}).items():
            if tree[kind].setdefault(name, model) != model:
                raise ValueError(f"model {name} is defined twice")


def merge(below, above):
    """Tables merge key by key, at every depth; anything else is replaced."""
    for key, value in above.items():
        if isinstance(value, dict) and isinstance(below.get(key), dict):
            merge(below[key], value)
        else:
            below[key] = value


def kind_of(part):
    """The key that names the kind of a part."""
    return next(kind for kind in KINDS if kind in part)


def apply_set(parts, changes):
    """A variant's `set`: a plain value is the main value or state, a table changes other keys."""
    parts = copy.deepcopy(parts)
    for ref, change in changes.items():
        part = parts[ref]
        kind = kind_of(part)
        if not isinstance(change, dict):
            part[kind] = {True: "closed", False: "open"}.get(change, change) if kind == "link" else change
            continue
        for key, value in change.items():
            if kind == "transformer" and key in part[kind]:
                part[kind][key] = value
            else:
                part[kind if key == "model" else key] = value
    return parts


def flatten(part):
    """A part with its kind named, a transformer's figures on the top level, figures parsed."""
    kind = kind_of(part)
    flat = {**part, **part[kind]} if kind == "transformer" else dict(part)
    flat.pop("transformer", None)
    return {**figures(flat), "kind": kind}


def figures(table):
    """The table with every figure as mpf; words stay words."""
    return {key: value if key in WORDS else figure(value) for key, value in table.items()}


def figure(value):
    if isinstance(value, list):
        return [figure(item) for item in value]
    if isinstance(value, dict):
        return figures(value)
    try:
        return number(value)
    except (ValueError, AttributeError):
        return value
