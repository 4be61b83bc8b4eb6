#!/usr/bin/python3
"""Independent values for a board, written without reading the engine.

    reference.py BOARD [--variant NAME] [--capsule NAME] [--at f1,f2,...] [--knob r1,r2,...] > values.json
    reference.py BOARD --list          the board's variants, one a line

Without --at: 1 Hz to 10 MHz, two points a decade. The file it writes:

    { "board", "variant", "capsule", "temperature_k",
      "frequency_hz": [f],                     each list below is as long; null where nothing can be said
      "knob": [ { "position", "resistance_ohm",  wiper to counter-clockwise end, of the first ganged track
        "gain": [[re, im]],                    output over the capsule's EMF
        "capsule_effect_db": [], "group_delay_s": [], "input_impedance_ohm": [[re, im]],
        "output_noise_v_rthz": [],
        "measures": { as in lowhiss-sweep/1 },
        "noise": [ { "part", "mechanism", "output_v": over 20 Hz..20 kHz, "share", "output_v_rthz": [] } ],
        "check": { "double_vs_40_digits", "quadrature_error" } } ] }     both relative

Numbers have the 17 digits of a double. Everything over frequency is computed with 40 digits;
the integrals in double precision, compared with 40 digits at several frequencies (`check`).
"""
import argparse
import json
import math
import sys

from mpmath import mp

from boardfile import Board, read
from elements import track
from measures import decibel, group_delay, input_impedance, measures
from network import Network
from quantities import number

GRID_HZ = [10 ** (i / 2) for i in range(15)]


def complex_pair(z):
    return None if z is None else [float(z.real), float(z.imag)]


def at_frequency(exact, f):
    """One row: what the board does at one frequency (None outside a measured capsule's range)."""
    known = exact.capsule and exact.capsule.range_hz()
    row = {"input_impedance_ohm": complex_pair(input_impedance(exact, f))}
    if known and not known[0] <= f <= known[1]:
        return {**row, "gain": None, "capsule_effect_db": None, "group_delay_s": None, "powers": None}
    gain, powers = exact.solve(f)
    unloaded = exact.solve(f, "short")[0]
    return {**row, "gain": complex_pair(gain), "powers": powers,
            "capsule_effect_db": decibel(abs(gain / unloaded)) if unloaded else None,
            "group_delay_s": float(group_delay(exact, f)) if gain else None}


def density(powers, source=None):
    """V/rtHz of one source or of all together."""
    if powers is None:
        return None
    return math.sqrt(sum(powers.values()) if source is None else powers[source])


def at_position(board, position, frequencies):
    """Everything at one knob position."""
    rotations = {ref: position for ref in board.knob_parts}
    exact = Network(board, rotations, mp)
    rows = [at_frequency(exact, f) for f in frequencies]
    numbers, by_source, check = measures(board, rotations)
    total = numbers["output_noise_v"] ** 2
    result = {"position": position, "resistance_ohm": None}
    if rotations:
        result["resistance_ohm"] = float(track(board.parts[board.knob_parts[0]], position)[0])
    for key in ("gain", "capsule_effect_db", "group_delay_s", "input_impedance_ohm"):
        result[key] = [row[key] for row in rows]
    result["output_noise_v_rthz"] = [density(row["powers"]) for row in rows]
    result["measures"], result["check"] = numbers, check
    result["noise"] = [{"part": source[0], "mechanism": source[1], "output_v": math.sqrt(power), "share": power / total,
                        "output_v_rthz": [density(row["powers"], source) for row in rows]}
                       for source, power in by_source.items()]
    return result


def write(value, indent=0):
    """JSON with each list of numbers on one line."""
    pad = "\n" + " " * (indent + 1)
    if isinstance(value, dict):
        items = (f"{json.dumps(k)}: {write(v, indent + 1)}" for k, v in value.items())
        return "{" + pad + ("," + pad).join(items) + " }"
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return "[" + pad + ("," + pad).join(write(v, indent + 1) for v in value) + " ]"
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def main():
    parser = argparse.ArgumentParser(description="independent values for a board")
    parser.add_argument("board")
    parser.add_argument("--variant")
    parser.add_argument("--capsule")
    parser.add_argument("--at", help="frequencies")
    parser.add_argument("--knob", help="rotations")
    parser.add_argument("--list", action="store_true", help="names of the variants")
    args = parser.parse_args()
    tree = read(args.board)
    if args.list:
        return print(*tree.get("variants", {}), sep="\n")
    board = Board(tree, args.variant, args.capsule)
    frequencies = [float(number(text)) for text in args.at.split(",")] if args.at else GRID_HZ
    positions = [float(text) for text in args.knob.split(",")] if args.knob else board.positions
    print(write({"board": board.name, "variant": args.variant, "capsule": board.capsule_name,
                 "temperature_k": float(board.temperature), "frequency_hz": frequencies,
                 "knob": [at_position(board, position, frequencies) for position in positions]}))


if __name__ == "__main__":
    sys.exit(main())
