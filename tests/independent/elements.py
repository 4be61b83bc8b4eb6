"""Every element kind as admittances, constraints and noise at one frequency.

A stamp has the shape stamp(equations, designator, part). Series and parallel
members of a part are one complex admittance; no part but the preamp IC and the
transresistance needs a node of its own.
"""
from mpmath import mpf


def split(ref, part, rotation):
    """{designator: part}: a potentiometer is two resistors, open links and current sources are nothing."""
    kind = part["kind"]
    if kind == "potentiometer":
        ccw, wiper, cw = part["pins"]
        lower, upper = track(part, rotation)
        return {ref + ":ccw": {"kind": "resistor", "resistor": lower, "pins": [ccw, wiper]},
                ref + ":cw": {"kind": "resistor", "resistor": upper, "pins": [wiper, cw]}}
    if kind == "current_source" or part.get("link") in ("open", False):
        return {}
    return {ref: part}


def is_short(part):
    """Closed links, resistors of exactly 0 and, in a sweep, voltage sources."""
    return part["kind"] in ("link", "voltage_source") or part["kind"] == "resistor" and part["resistor"] == 0


def track(part, rotation):
    """Resistances (counter-clockwise end to wiper, wiper to clockwise end)."""
    fraction = taper(part.get("taper", "linear"), mpf(rotation), part.get("midpoint", mpf("0.15")))
    end = part.get("end_resistance", 0)
    return end + part["potentiometer"] * fraction, end + part["potentiometer"] * (1 - fraction)


def taper(law, x, midpoint):
    """Fraction of the track at a rotation."""
    if isinstance(law, list):
        (x0, y0), (x1, y1) = next(pair for pair in zip(law, law[1:]) if x <= pair[1][0])
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    b = (1 / midpoint - 1) ** 2
    if law == "linear" or b == 1:
        return x
    return (b ** x - 1) / (b - 1) if law == "log" else 1 - (b ** (1 - x) - 1) / (b - 1)


def resistor(eq, ref, part):
    if part["resistor"] != 0:
        noisy_admittance(eq, ref, part["pins"], 1 / part["resistor"])


def noisy_admittance(eq, ref, pins, y):
    """Admittance whose real part makes thermal noise 4kT Re y, as any passive two-terminal's does."""
    eq.admittance(*pins, y)
    if eq.node(pins[0]) != eq.node(pins[1]):
        eq.add_noise(ref, "thermal", eq.four_kt * y.real, {pins[0]: 1, pins[1]: -1})


def capacitor(eq, ref, part):
    y = eq.s * part["capacitor"]
    y = y / (1 + y * part.get("series_resistance", 0))
    noisy_admittance(eq, ref, part["pins"], y + (1 / part["leakage_resistance"] if "leakage_resistance" in part else 0))


def inductor(eq, ref, part):
    y = 1 / (part.get("series_resistance", 0) + eq.s * part["inductor"])
    noisy_admittance(eq, ref, part["pins"], y + eq.s * part.get("parallel_capacitance", 0))


def transformer(eq, ref, part):
    """Inverse of [[R1 + sL1, sM], [sM, R2 + sL2]]; perfect and lossless, a turns ratio beside L1."""
    (a, b), (c, d), s = part["primary"], part["secondary"], eq.s
    n, l1, k = part["ratio"], part["primary_inductance"], part.get("coupling", 1)
    l2, r1, r2 = n * n * l1, part.get("primary_resistance", 0), part.get("secondary_resistance", 0)
    if k == 1 and r1 == 0 and r2 == 0:
        eq.admittance(a, b, 1 / (s * l1))
        row = combine((c, 1), (d, -1), (a, -n), (b, n))
        return eq.constrain(row, row)
    det = r1 * r2 + s * (r1 * l2 + r2 * l1) + s * s * l1 * l2 * (1 - k * k)
    y11, y22, y12 = (r2 + s * l2) / det, (r1 + s * l1) / det, -s * k * n * l1 / det
    eq.admittance(a, b, y11)
    eq.admittance(c, d, y22)
    eq.controlled_current(a, b, combine((c, 1), (d, -1)), y12)
    eq.controlled_current(c, d, combine((a, 1), (b, -1)), y12)
    eq.add_noise(ref, "thermal", eq.four_kt * r1, combine((a, y11), (b, -y11), (c, y12), (d, -y12)))
    eq.add_noise(ref, "thermal", eq.four_kt * r2, combine((a, y12), (b, -y12), (c, y22), (d, -y22)))


def combine(*terms):
    """{node: weight}, weights of a node named twice added."""
    total = {}
    for name, weight in terms:
        total[name] = total.get(name, 0) + weight
    return total


def input_stage(eq, ref, part, model):
    """What an op-amp and a preamp IC share: noiseless input impedances and the current noises."""
    p, m, g = part["plus"], part["minus"], eq.ground
    eq.admittance(p, m, passive(eq, model, "input"))
    eq.admittance(p, g, passive(eq, model, "common_mode"))
    eq.admittance(m, g, passive(eq, model, "common_mode"))
    density = flicker(eq, model, "current_noise")
    eq.add_noise(ref, "current noise plus", density, {p: 1})
    eq.add_noise(ref, "current noise minus", density, {m: 1})


def passive(eq, model, name):
    """Conductance and capacitance of one of a model's input impedances."""
    conductance = 1 / model[name + "_resistance"] if name + "_resistance" in model else 0
    return conductance + eq.s * model.get(name + "_capacitance", 0)


def flicker(eq, model, name):
    """density^2 (1 + corner / f)."""
    return model.get(name, 0) ** 2 * (1 + model.get(name + "_corner", 0) / eq.f)


def common_mode_gain(eq, model):
    """1 / CMRR(s) with CMRR(s) = CMRR0 / (1 + s/w_c); 0 where none is given."""
    if "cmrr" not in model:
        return 0
    w = 2 * eq.ctx.pi * model["cmrr_corner"] if "cmrr_corner" in model else eq.ctx.inf
    return (1 + eq.s / w) / model["cmrr"]


def amplifier_output(eq, out, model, control):
    """v(out) = sum(control v), behind the output resistance. Gives a function volts -> injection."""
    r = model.get("output_resistance", 0)
    if r == 0:
        key = eq.constrain(combine((out, 1), *((name, -a) for name, a in control.items())), {out: 1})
        return lambda volts: {key: volts}
    eq.admittance(out, eq.ground, 1 / r)
    eq.controlled_current(eq.ground, out, control, 1 / r)
    return lambda volts: {out: volts / r}


def opamp(eq, ref, part):
    """Internal output A(s) (v_d + v_cm / CMRR(s) + e_n)."""
    model = eq.network.models["opamp"][part["opamp"]]
    a0, two_pi = model["open_loop_gain"], 2 * eq.ctx.pi
    gain = a0 / (1 + eq.s * a0 / (two_pi * model["gain_bandwidth"]))
    if "second_pole" in model:
        gain = gain / (1 + eq.s / (two_pi * model["second_pole"]))
    common = common_mode_gain(eq, model) / 2
    input_stage(eq, ref, part, model)
    control = combine((part["plus"], gain * (common + 1)), (part["minus"], gain * (common - 1)))
    inject = amplifier_output(eq, part["out"], model, control)
    eq.add_noise(ref, "voltage noise", flicker(eq, model, "voltage_noise"), inject(gain))


def preamp_ic(eq, ref, part):
    """Two current-feedback halves around the gain pins and a difference stage."""
    model = eq.network.models["preamp_ic"][part["preamp_ic"]]
    offset, k = model.get("gain_offset", 1), model["gain_resistance"]
    rf = k / (2 * offset)
    a, b = time_constants(eq, model, offset)
    p, m, (g1, g2), o1, o2 = part["plus"], part["minus"], part["gain_pins"], ref + ":o1", ref + ":o2"
    input_stage(eq, ref, part, model)
    for pin, gain_pin, internal in ((p, g1, o1), (m, g2, o2)):
        # Buffer current j = s C_t v(internal); its drop over r_b is s b v(internal), as C_t r_b = b.
        key = eq.constrain(combine((gain_pin, 1), (internal, eq.s * b), (pin, -1)), {internal: 1})
        eq.controlled_current(eq.ground, gain_pin, {internal: 1}, eq.s * a / rf)
        eq.admittance(internal, gain_pin, 1 / rf)
        if internal == o1:
            eq.add_noise(ref, "voltage noise", flicker(eq, model, "input_voltage_noise"), {key: 1})
    common = offset * common_mode_gain(eq, model) / 2
    control = combine((o1, offset), (o2, -offset), (p, common), (m, common), (part.get("reference", eq.ground), 1))
    inject = amplifier_output(eq, part["out"], model, control)
    eq.add_noise(ref, "output voltage noise", model.get("output_voltage_noise", 0) ** 2, inject(1))


def time_constants(eq, model, offset):
    """a and b of 1 / (1 + s (a + b G / gain_offset)), seconds, from the bandwidth at two gains."""
    if "bandwidth" not in model:
        return 0, 0
    (g1, f1), (g2, f2) = model["bandwidth"]
    t1, t2 = 1 / (2 * eq.ctx.pi * f1), 1 / (2 * eq.ctx.pi * f2)
    b = (t2 - t1) * offset / (g2 - g1)
    return t1 - b * g1 / offset, b


def voltage_gain(eq, ref, part):
    (a, b), (p, n), gain = part["control"], part["pins"], part["voltage_gain"]
    eq.constrain(combine((p, 1), (n, -1), (a, -gain), (b, gain)), combine((p, 1), (n, -1)))


def transconductance(eq, ref, part):
    (a, b), (p, n) = part["control"], part["pins"]
    eq.controlled_current(p, n, combine((a, 1), (b, -1)), part["transconductance"])


def current_gain(eq, ref, part):
    """The short's own current also leaves p and enters n, gain times."""
    (a, b), (p, n), gain = part["control"], part["pins"], part["current_gain"]
    eq.constrain(combine((a, 1), (b, -1)), combine((a, 1), (b, -1), (p, gain), (n, -gain)))


def transresistance(eq, ref, part):
    """The short's current also flows into a hidden node with 1 S to ground, whose voltage is then the current."""
    (a, b), (p, n), sense = part["control"], part["pins"], ref + ":current"
    eq.constrain(combine((a, 1), (b, -1)), combine((a, 1), (b, -1), (sense, -1)))
    eq.admittance(sense, eq.ground, eq.ctx.mpf(1))
    eq.constrain(combine((p, 1), (n, -1), (sense, -part["transresistance"])), combine((p, 1), (n, -1)))


STAMP = {f.__name__: f for f in (resistor, capacitor, inductor, transformer, opamp, preamp_ic, voltage_gain,
                                 transconductance, current_gain, transresistance)}
STAMP["link"] = STAMP["voltage_source"] = lambda eq, ref, part: None  # their nodes are merged


def output_load(eq, output):
    """Load and cable, noiseless."""
    y = (1 / output["load"] if "load" in output else 0) + eq.s * output.get("cable", 0)
    eq.admittance(output["plus"], output["minus"], y)


def source(eq, capsule, kind):
    """The capsule at the input, or its impedance set to zero, or 1 kohm. Gives the EMF's injection."""
    plus, minus = eq.network.input["plus"], eq.network.input["minus"]
    z = eq.ctx.mpf(1000) if kind == "probe" else capsule.impedance(eq.f) if kind == "capsule" and capsule else 0
    if z == 0:
        row = combine((plus, 1), (minus, -1))
        emf = {eq.constrain(row, row): 1}
    else:
        eq.admittance(plus, minus, 1 / z)
        emf = {plus: 1 / z, minus: -1 / z}
    if capsule and kind != "probe":
        eq.add_noise("capsule", "thermal", eq.four_kt * capsule.thermal_resistance(z), emf)
        eq.add_noise("capsule", "self noise", capsule.self_noise_squared(eq.f), emf)
    return emf
