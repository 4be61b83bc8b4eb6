"""The capsule: impedance in series with the electromotive force, and its noise."""
import csv
from pathlib import Path

from mpmath import mp, mpf

SCALE = {"hz": 1, "khz": 1000, "mhz": 10**6, "ghz": 10**9}


class Capsule:
    """impedance(f) and the noise densities of one capsule; ctx is mpmath's mp or fp."""

    def __init__(self, table, ctx):
        self.ctx, self.kind = ctx, table["kind"]
        self.table = convert(table, ctx)
        self.points = self.table.get("points", [])

    def range_hz(self):
        """Frequencies at which the impedance is known; None where everywhere."""
        if self.kind != "measured" or self.table.get("extrapolate"):
            return None
        return self.points[0][0], self.points[-1][0]

    def impedance(self, f):
        ctx, t = self.ctx, self.table
        s = ctx.mpc(0, 2 * ctx.pi * f)
        if self.kind == "resistive":
            return ctx.mpc(t["resistance"])
        if self.kind == "dynamic":
            motional = sum(motion(resonance, s, ctx) for resonance in t.get("resonances", []))
            return t["coil_resistance"] + s * t.get("coil_inductance", 0) + motional
        if self.kind == "condenser":
            leak = 1 / t["leakage_resistance"] if "leakage_resistance" in t else 0
            return 1 / (s * t["capacitance"] + leak)
        if self.kind == "electret":
            return ctx.mpc(t["output_resistance"])
        return interpolate(self.points, f, bool(t.get("extrapolate")), ctx)

    def thermal_resistance(self, impedance):
        """Re Z, the noisy part; an electret's output resistance is noiseless."""
        return 0 if self.kind == "electret" else max(impedance.real, 0)

    def self_noise_squared(self, f):
        """An electret's own noise, V^2/Hz."""
        t = self.table
        return t.get("self_noise", 0) ** 2 * (1 + t.get("self_noise_corner", 0) / f)


def convert(value, ctx):
    """The same table in the numbers of ctx."""
    if isinstance(value, dict):
        return {k: convert(v, ctx) for k, v in value.items()}
    if isinstance(value, list):
        return [convert(v, ctx) for v in value]
    return ctx.mpf(value) if isinstance(value, mpf) else value


def motion(resonance, s, ctx):
    """A motional resonance: R / (1 + Q (s/w0 + w0/s))."""
    x = s / (2 * ctx.pi * resonance["frequency"])
    return resonance["resistance"] / (1 + resonance["q"] * (x + 1 / x))


def interpolate(points, f, extrapolate, ctx):
    """R and X linear over log f between the points; outside, if extrapolated, those of the nearest end."""
    if not extrapolate and not points[0][0] <= f <= points[-1][0]:
        raise ValueError(f"{float(f)} Hz is outside the measured range")
    f = min(max(f, points[0][0]), points[-1][0])
    i = next((i for i, point in enumerate(points[1:-1]) if f < point[0]), len(points) - 2)
    (f0, r0, x0), (f1, r1, x1) = points[i], points[i + 1]
    w = ctx.log(f / f0) / ctx.log(f1 / f0)
    return ctx.mpc(r0 + w * (r1 - r0), x0 + w * (x1 - x0))


def load(path):
    """Rows (frequency, R, X) of a CSV or a one-port S-parameter file."""
    lines = Path(path).read_text(encoding="utf-8-sig").splitlines()
    rows = one_port(lines) if str(path).lower().endswith(".s1p") else table_rows(lines)
    return sorted([f, z.real, z.imag] for f, z in rows)


def table_rows(lines):
    """CSV: frequency in Hz, |Z| in ohm, phase in degrees."""
    for row in csv.reader(line for line in lines if line.strip() and not line.lstrip().startswith("#")):
        try:
            f, ohm, degrees = (mpf(cell.strip()) for cell in row[:3])
        except ValueError:
            continue  # header line
        yield f, mp.rect(ohm, mp.radians(degrees))


def one_port(lines):
    """One-port S-parameter file, version 1.1 or 2.0: S, Z or Y in DB, MA or RI; version 1 normalises Z and Y to R."""
    unit, kind, form, reference, version = "ghz", "s", "ma", mpf(50), 1
    seen_option = False
    for line in (line.split("!")[0].strip().lower() for line in lines):
        if line.startswith("[version]"):
            version = int(line.split()[1].split(".")[0])
        elif line.startswith("[reference]"):
            reference = mpf(line.split()[1])
        elif line.startswith("#") and not seen_option:
            words, seen_option = line[1:].split(), True
            unit = next((w for w in words if w in SCALE), unit)
            kind = next((w for w in words if w in ("s", "z", "y")), kind)
            form = next((w for w in words if w in ("db", "ma", "ri")), form)
            reference = mpf(words[words.index("r") + 1]) if "r" in words else reference
        elif line and line[0] not in "#[":
            f, a, b = (mpf(word) for word in line.split()[:3])
            yield f * SCALE[unit], to_ohm(pair(a, b, form), kind, reference if version == 1 or kind == "s" else 1)


def pair(a, b, form):
    if form == "ri":
        return mp.mpc(a, b)
    return mp.rect(mpf(10) ** (a / 20) if form == "db" else a, mp.radians(b))


def to_ohm(value, kind, reference):
    if kind == "s":
        return reference * (1 + value) / (1 - value)
    return reference * value if kind == "z" else reference / value
