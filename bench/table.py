"""Prints the results of bench/run.sh as tables."""

import json
import sys

PEERS = ["eigen-dense", "eigen-sparse", "numpy", "klu", "lowhiss"]


def load(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def row(cells):
    print("| " + " | ".join(cells) + " |")


def heading(cells):
    row(cells)
    print("|" + " --- |" * len(cells))


def solvers(runs, batched, peak_s):
    solved = {}
    for run in runs:
        if run["name"].startswith("solve/"):
            _, board, peer = run["name"].split("/")
            solved.setdefault(board, {})[peer] = run
    print("Microseconds a point (factorisation, solution, adjoint solution), one thread.")
    print("Once: unknowns that are eliminated for all frequencies together. Of peak: the arithmetic")
    print("of elimination and first solution over what this core could make in the time.")
    print()
    heading(["board", "unknowns", "once"] + PEERS + ["KLU / lowhiss", "of peak"])
    # A run whose gains differ from those of the pivoting path has no time, ours included.
    timed = {board: peers for board, peers in solved.items() if "unknowns" in peers["lowhiss"]}
    for board, peers in sorted(timed.items(), key=lambda one: one[1]["lowhiss"]["unknowns"]):
        ours = peers["lowhiss"]
        cells = [board, f"{ours['unknowns']:.0f}", f"{ours['once']:.0f}"]
        for peer in PEERS:
            run = peers.get(peer)
            if peer == "numpy":
                us = batched.get(board, "-")
                cells.append(us if us == "-" else "wrong" if us is None else f"{us:.2f}")
            elif not run:
                cells.append("-")
            else:
                wrong = run.get("error_occurred")
                cells.append("wrong" if wrong else f"{1e6 * run['per_point']:.2f}")
        klu = peers["klu"]
        wrong = klu.get("error_occurred") or ours.get("error_occurred")
        cells.append("-" if wrong else f"{klu['per_point'] / ours['per_point']:.1f}")
        cells.append(f"{100 * ours['multiply_adds'] * peak_s / ours['per_point']:.0f} %")
        row(cells)
    print()
    for board in sorted(solved.keys() - timed.keys()):
        print(f"Not timed, our gains not being those of the pivoting path: {board}.")
    print(f"Peak: {1e-9 / peak_s:.1f} thousand million multiply-adds a second.")


def growth(runs):
    print()
    heading(["heron-c, frequencies", "microseconds a point"])
    for run in runs:
        if run["name"].startswith("frequencies/"):
            row([run["name"].split("/")[1], f"{1e6 * run['per_point']:.2f}"])


def stages(runs):
    print()
    heading(["stage, heron-c", "microseconds"])
    for run in runs:
        if not run["name"].startswith(("solve/", "peak", "frequencies/", "series_")):
            row([run["name"].split("/")[0].replace("_", " "), f"{run['real_time']:.0f}"])


def series(runs):
    print()
    heading(["one board of a series, heron-c", "microseconds", "of the board"])
    found = {run["name"]: run["real_time"] for run in runs if run["name"].startswith("series_")}
    whole = found["series_whole_board"]
    for name, us in found.items():
        words = name.removeprefix("series_").replace("_", " ")
        row([words, f"{us:.0f}", f"{100 * us / whole:.0f} %"])


def ratios(found):
    if not found:
        return
    print()
    heading(["command", "previous, processor s", "this, processor s", "previous / this"])
    for name, one in found.items():
        row(
            [name]
            + (
                [f"{one['before_s']:.3f}", f"{one['now_s']:.3f}", f"{one['ratio']:.1f}"]
                if one
                else ["failed", "-", "-"]
            )
        )


def processes(runs):
    print()
    heading(["command, heron-c", "wall, s", "processor, s", "memory, MB"])
    for name, run in runs.items():
        figures = [f"{run['wall_s']:.3f}", f"{run['processor_s']:.3f}", f"{run['memory_mb']:.0f}"]
        row([name] + (figures if run["status"] == 0 else ["failed", "-", "-"]))


def main(bench, batched, whole):
    runs = load(bench)["benchmarks"]
    peak_s = next(run["per_point"] for run in runs if run["name"] == "peak_multiply_adds")
    solvers(runs, load(batched), peak_s)
    growth(runs)
    stages(runs)
    series(runs)
    commands = load(whole)
    processes(commands["runs"])
    ratios(commands["ratios"])


main(*sys.argv[1:])
