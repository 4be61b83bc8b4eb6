#!/usr/bin/python3
"""Holds reference.py against closed forms and laws on small boards; exit 1 where one is off by over 1e-9.

All formulas are textbook results except where a source is named.
"""
import cmath
import math
import sys
import tempfile
from pathlib import Path

from mpmath import fp, mp
from scipy.integrate import quad_vec

from boardfile import Board, read
from measures import input_impedance, measures
from network import Network
from weighting import a_weighting, bs468

K_T = 1.380649e-23 * 293.15
FREQUENCIES_HZ = (1.0, 440.0, 31e3, 2.7e6)
failed = []


def board(text, files=None, variant=None):
    with tempfile.TemporaryDirectory() as folder:
        for name, content in {"b.toml": text, **(files or {})}.items():
            (Path(folder) / name).write_text(content)
        return Board(read(Path(folder) / "b.toml"), variant)


def check(name, got, wanted, tolerance=1e-9):
    error = abs(complex(got) / complex(wanted) - 1)
    print(f"{'ok  ' if error <= tolerance else 'FAIL'} {error:8.1e}  {name}")
    failed.extend([name] if error > tolerance else [])


def check_gain(name, made, formula):
    exact, fast = Network(made, {}, mp), Network(made, {}, fp)
    for f in FREQUENCIES_HZ:
        check(f"{name}, {f:g} Hz", exact.solve(f)[0], formula(2j * math.pi * f))
        check(f"{name}, {f:g} Hz, double", fast.solve(f)[0], formula(2j * math.pi * f), 1e-8)


CAPSULE = '[capsule.src]\nkind = "resistive"\nresistance = "{}"\n'


def ports(out, source="200R", extra=""):
    return f'[input]\nplus = "in"\ncapsule = "src"\n[output]\nplus = "{out}"\n{extra}\n' + CAPSULE.format(source)


def rc():
    """Corner 1/(2 pi RC), band noise by the arctangent, total noise kT/C."""
    made = board('[parts]\nC1 = { capacitor = "10n", pins = ["in", "gnd"] }\n' + ports("in", "10k"))
    fc = 1 / (2 * math.pi * 1e-4)
    check_gain("RC low-pass", made, lambda s: 1 / (1 + s * 1e-4))
    numbers, _, _ = measures(made, {})
    check("RC corner", numbers["high_corner_hz"], fc * math.sqrt(1 + 2 * (1000 / fc) ** 2))
    check("RC band noise", numbers["output_noise_v"] ** 2,
          4 * K_T * 1e4 * fc * (math.atan(2e4 / fc) - math.atan(20 / fc)))
    fast = Network(made, {}, fp)
    power, _ = quad_vec(lambda x: math.exp(x) * sum(fast.solve(math.exp(x))[1].values()), -20, 34, epsrel=1e-12)
    check("RC total noise kT/C", power, K_T / 1e-8, 1e-7)  # what lies outside e^-20..e^34 Hz is under 1e-8


def thermal():
    """150 ohm at 20 degC, 20 Hz..20 kHz; the weighted noise bandwidths were computed apart, by ladder and by poles."""
    made = board('[parts]\nR1 = { resistor = "1G", pins = ["in", "gnd"] }\n' + ports("in", "150R"))
    numbers, _, _ = measures(made, {})
    check("150 ohm, dBu", numbers["ein_dbu"], -130.922, 1e-5)
    check("150 ohm, A-weighted dBu", numbers["ein_a_dbu"], -130.922 - 2.048, 1e-5)
    check("150 ohm, BS.468 dBu", numbers["ein_468_dbu"], -130.922 + 7.301, 1e-5)
    check("noise figure of nothing", 1 + numbers["noise_figure_db"], 1, 1e-6)


def weightings():
    """Table rows of IEC 61672-1 (at the exact frequencies, rounded to 0.1 dB) and ITU-R BS.468-4, table 1."""
    for n, wanted in ((10, -70.4), (13, -50.5), (20, -19.1), (27, -3.2), (34, 1.3), (39, -1.1), (43, -9.3)):
        f = 1000 * 10 ** ((n - 30) / 10)
        check(f"A-weighting, {f:.5g} Hz", 1 + 10 * math.log10(a_weighting(f)) - wanted, 1, 0.06)
    for f, wanted in ((31.5, -29.9), (200, -13.8), (2000, 5.6), (6300, 12.2), (9000, 10.1), (16000, -11.7)):
        check(f"BS.468, {f:g} Hz", 1 + 10 * math.log10(bs468(f)) - wanted, 1, 0.06)


def opamp():
    """Non-inverting stage: gain, exact -3 dB frequency, EIN with both noises; then into a cable."""
    model = '[opamp.m]\nopen_loop_gain = "100 dB"\ngain_bandwidth = "10 MHz"\nvoltage_noise = "5 nV/rtHz"\n' \
            'voltage_noise_corner = "100 Hz"\ncurrent_noise = "0.7 pA/rtHz"\n'
    made = board('[parts]\nR1 = { resistor = "10k", pins = ["out", "fb"] }\n'
                 'R2 = { resistor = "100R", pins = ["fb", "gnd"] }\n'
                 'U1 = { opamp = "m", plus = "in", minus = "fb", out = "out" }\n' + ports("out") + model)
    open_loop = lambda s: 1e5 / (1 + s * 1e5 / (2 * math.pi * 1e7))
    check_gain("non-inverting stage", made, lambda s: 101 / (1 + 101 / open_loop(s)))
    numbers, _, _ = measures(made, {})
    f3 = 1e7 / 101 + 1e7 / 1e5
    check("non-inverting corner", numbers["high_corner_hz"], f3 * math.sqrt(1 + 2 * (1000 / f3) ** 2))
    gain2 = lambda f: abs(101 / (1 + 101 / open_loop(2j * math.pi * f))) ** 2
    leg = 1e6 / 10100
    density = lambda f: 25e-18 * (1 + 100 / f) + 4.9e-25 * (200 ** 2 + leg ** 2) + 4 * K_T * (200 + leg)
    power, _ = quad_vec(lambda f: density(f) * gain2(f), 20, 2e4, points=(100, 1e3), epsrel=1e-12)
    check("non-inverting output noise", numbers["output_noise_v"] ** 2, power)
    model += 'output_resistance = "100R"\nsecond_pole = "30 MHz"\ncmrr = "60 dB"\ncmrr_corner = "1 kHz"\n'
    made = board('[parts]\nU1 = { opamp = "m", plus = "in", minus = "out", out = "out" }\n'
                 + ports("out", extra='cable = "1n"\nload = "10k"') + model)

    def follower(s):
        a = open_loop(s) / (1 + s / (2 * math.pi * 3e7))
        half = (1 + s / (2 * math.pi * 1e3)) / 1000 / 2
        return a * (1 + half) / (1 + 100 * (s * 1e-9 + 1e-4) + a * (1 - half))
    check_gain("follower into a cable", made, follower)


def preamp_ic():
    """Section 7's own closed form, an ideal part, and the noise rule of section 3."""
    model = '[preamp_ic.m]\ngain_resistance = "10k"\ngain_offset = {offset}\ninput_voltage_noise = "1 nV/rtHz"\n' \
            'output_voltage_noise = "50 nV/rtHz"\n{more}\n'
    parts = '[parts]\nZ1 = { capacitor = "100u", series_resistance = "10R", pins = ["g1", "g2"] }\n' \
            'U1 = { preamp_ic = "m", plus = "in", minus = "gnd", gain_pins = ["g1", "g2"], out = "out", ' \
            'reference = "gnd" }\n'
    for offset in (1, 2):
        rf = 1e4 / (2 * offset)
        zg = lambda s: 10 + 1 / (s * 100e-6)
        ideal = board(parts + ports("out") + model.format(offset=offset, more=""))
        check_gain(f"preamp IC, ideal, offset {offset}", ideal, lambda s: offset + 1e4 / zg(s))
        bandwidth = 'bandwidth = [[1, "4 MHz"], [1000, "200 kHz"]]'
        real = board(parts + ports("out") + model.format(offset=offset, more=bandwidth))
        t1, t2 = 1 / (2 * math.pi * 4e6), 1 / (2 * math.pi * 2e5)
        b = (t2 - t1) * offset / 999
        a = t1 - b / offset
        up = lambda s: 1 + 2 * rf / zg(s)
        check_gain(f"preamp IC, offset {offset}", real, lambda s: offset * up(s) / (1 + s * (a + b * up(s))))
    _, powers = Network(ideal, {}, mp).solve(1000)
    gain = abs(2 + 1e4 / zg(2000j * math.pi))
    for mechanism, wanted in (("voltage noise", (1e-9 * gain) ** 2), ("output voltage noise", 2.5e-15)):
        check(f"preamp IC, {mechanism}", powers["U1", mechanism], wanted)


def controlled():
    """The four controlled sources in one chain, with the signs of the board language."""
    made = board('''[parts]
E1 = { voltage_gain = 3, control = ["in", "gnd"], pins = ["a", "gnd"] }
G1 = { transconductance = "2 mS", control = ["a", "gnd"], pins = ["b", "gnd"] }
R1 = { resistor = "1k", pins = ["b", "s"] }
F1 = { current_gain = 5, control = ["s", "gnd"], pins = ["c", "gnd"] }
C1 = { capacitor = "1n", pins = ["c", "gnd"] }
R2 = { resistor = "2k", pins = ["c", "t"] }
H1 = { transresistance = "7k", control = ["t", "gnd"], pins = ["out", "gnd"] }
''' + ports("out"))
    # in -> a = 3; G1 draws 6 mA/V out of b, so -6 mA/V flow into s; F1 draws -30 mA/V out of c; R2 takes its share.
    check_gain("controlled sources", made, lambda s: 0.03 / (1 + s * 2e-6) * 7e3)


PASSIVE = '''[parts]
T1.transformer.ratio = 10
T1.transformer.primary_inductance = "8"
T1.transformer.coupling = {k}
T1.transformer.primary_resistance = "{r}"
T1.transformer.secondary_resistance = "{r}"
T1.primary = ["a", "gnd"]
T1.secondary = ["b", "gnd"]
C1 = {{ capacitor = "22u", pins = ["in", "a"], series_resistance = "0R3", leakage_resistance = "5M" }}
L1 = {{ inductor = "470u", pins = ["b", "out"], series_resistance = "4R7", parallel_capacitance = "12p" }}
RV1 = {{ potentiometer = "10k", pins = ["out", "gnd", "x"], taper = "log", end_resistance = "5R" }}
C2 = {{ capacitor = "1n", pins = ["x", "b"], series_resistance = "10R" }}
SB1 = {{ link = "closed", pins = ["x", "y"] }}
R9 = {{ resistor = "33k", pins = ["y", "out"] }}
'''


def passive():
    """Output noise of a passive network is 4kT Re Z, with every passive kind in it."""
    for k, r in ((0.999, "40R"), (1, "40R"), (1, "0R")):
        parts = PASSIVE.format(k=k, r=r)
        made = board(parts + ports("out"))
        seen = board(parts + 'RS = { resistor = "200R", pins = ["in", "gnd"] }\n'
                     '[input]\nplus = "out"\n[output]\nplus = "out"\n')
        for f in FREQUENCIES_HZ:
            z, noise = input_impedance(Network(seen, {}, mp), f), Network(made, {}, mp).solve(f)[1]
            check(f"4kT Re Z, coupling {k}, {r}, {f:g} Hz", sum(noise.values()), 4 * K_T * z.real)
    made = board('[parts]\nT1 = { transformer = { ratio = 4, primary_inductance = 2, coupling = 1 }, '
                 'primary = ["in", "gnd"], secondary = ["out", "gnd"] }\n'
                 'R1 = { resistor = "1k6", pins = ["out", "gnd"] }\n' + ports("out"))
    check_gain("perfect transformer", made, lambda s: 4 / (1 + 200 * (1 / 100 + 1 / (2 * s))))


def capsules():
    """Measured files of a known impedance; dynamic, condenser, electret."""
    parts = '[parts]\nR1 = { resistor = "1k", pins = ["in", "gnd"] }\n' \
            '[input]\nplus = "in"\ncapsule = "c"\n[output]\nplus = "in"\n'
    measured = '[capsule.c]\nkind = "measured"\nfile = "{}"\n'
    files = {"z.csv": "frequency_hz,impedance_ohm,phase_deg\n# flat\n0.1,200,30\n1e7,200,30\n",
             "s.s1p": "! flat\n# kHz S RI R 50\n1e-4 0.6 0\n1e4 0.6 0 ! end\n",
             "z.s1p": "# Hz Z MA R 50\n0.1 4 30\n1e7 4 30\n"}
    for name, z in (("z.csv", cmath.rect(200, math.pi / 6)), ("s.s1p", 200), ("z.s1p", cmath.rect(200, math.pi / 6))):
        made = board(parts + measured.format(name), files)
        check_gain(f"measured {name}", made, lambda s: 1000 / (1000 + z))
    made = board(parts + '[capsule.c]\nkind = "dynamic"\ncoil_resistance = "150R"\ncoil_inductance = "0.5 mH"\n'
                 'resonances = [{ frequency = "150 Hz", q = 2.0, resistance = "110R" }]\n')
    w0 = 300 * math.pi
    check_gain("dynamic", made, lambda s: 1000 / (1150 + s * 5e-4 + 110 / (1 + 2 * (s / w0 + w0 / s))))
    made = board(parts + '[capsule.c]\nkind = "condenser"\ncapacitance = "60n"\nleakage_resistance = "1M"\n')
    check_gain("condenser", made, lambda s: 1000 / (1000 + 1 / (s * 60e-9 + 1e-6)))
    made = board(parts + '[capsule.c]\nkind = "electret"\noutput_resistance = "2k"\nself_noise = "20 nV/rtHz"\n'
                 'self_noise_corner = "100 Hz"\n')
    power = Network(made, {}, mp).solve(100)[1]["capsule", "self noise"]
    check("electret self noise", power, 2 * 4e-16 / 9)


def tapers():
    """The midpoint rule of section 3, and a table."""
    from elements import taper
    m = mp.mpf("0.15")
    check("log taper at half", taper("log", mp.mpf("0.5"), m), 0.15)
    check("reverse-log taper at half", taper("reverse-log", mp.mpf("0.5"), m), 0.85)
    check("table taper", taper([[0, 0], [mp.mpf("0.5"), mp.mpf("0.2")], [1, 1]], mp.mpf("0.75"), m), 0.6)


def language():
    """based_on, include, remove, fitted, variants, trimmers and ganged knobs, on dividers."""
    files = {"c.toml": CAPSULE.format("1k"), "a.toml": """
[board]
include = ["c.toml"]
[parts]
R1 = { resistor = "1k", pins = ["in", "4k7"] }
R2 = { resistor = "500R", pins = ["4k7", "gnd"] }
R3 = { resistor = "1R", pins = ["4k7", "gnd"] }
R4 = { resistor = "0R", pins = ["4k7", "out"] }
R5 = { resistor = "1R", pins = ["4k7", "gnd"], fitted = false }
SB1 = { link = "open", pins = ["4k7", "gnd"] }
RV1 = { potentiometer = "1k", pins = ["gnd", "out", "out"], position = 1 }
RV2 = { potentiometer = "2k", pins = ["gnd", "out", "out"] }
RV3 = { potentiometer = "2k", pins = ["gnd", "out", "out"] }
[input]
plus = "in"
capsule = "src"
[output]
plus = "out"
[knob]
part = ["RV2", "RV3"]
[variants.v]
set = { R1 = "3k", R2 = { pins = ["in", "gnd"] }, RV1 = { fitted = false } }
[variants.short]
set = { SB1 = "closed" }
"""}
    text = '[board]\nbased_on = "a.toml"\nremove = ["R3"]\n[parts]\nR2 = { resistor = "1k", pins = ["4k7", "gnd"] }\n'
    for variant, rotation, wanted in ((None, 0.5, 1 / 9), (None, 1.0, 1 / 7), ("v", 1.0, 1 / 9)):
        made = board(text, files, variant)
        got = Network(made, {ref: rotation for ref in made.knob_parts}, mp).solve(1000)[0]
        check(f"divider, variant {variant}, knob {rotation}", got, wanted)
    check("shorted output", 1 + Network(board(text, files, "short"), {}, mp).solve(1000)[0], 1)


if __name__ == "__main__":
    for group in (rc, thermal, weightings, opamp, preamp_ic, controlled, passive, capsules, tapers, language):
        group()
    print(f"{len(failed)} failed")
    sys.exit(bool(failed))
