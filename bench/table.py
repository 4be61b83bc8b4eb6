"""Prints the results of lowhiss_bench as a table, each peer as a ratio to the best of ours."""

import json
import sys

PEERS = ["eigen-dense", "eigen-sparse", "klu", "lowhiss"]


def main(path):
    with open(path, encoding="utf-8") as file:
        runs = json.load(file)["benchmarks"]
    peak_s = next(run["per_point"] for run in runs if run["name"] == "peak_multiply_adds")
    solved = {}
    for run in runs:
        if run["name"].startswith("solve/"):
            _, board, peer = run["name"].split("/")
            solved.setdefault(board, {})[peer] = run
    print("Microseconds a point (factorisation, solution, adjoint solution), one thread.")
    print("KLU / lowhiss: how many times as long KLU takes. Of peak: multiply-adds of the")
    print("elimination alone over what this core could make in the time.")
    print()
    head = ["board", "unknowns"] + PEERS + ["KLU / lowhiss", "of peak"]
    print("| " + " | ".join(head) + " |")
    print("|" + " --- |" * len(head))
    for board, peers in solved.items():
        ours = peers["lowhiss"]
        cells = [board, f"{lanes['unknowns']:.0f}"]
        for peer in PEERS:
            run = peers.get(peer)
            good = run and not run.get("error_occurred")
            cells.append(f"{1e6 * run['per_point']:.2f}" if good else ("wrong" if run else "-"))
        klu = peers["klu"]
        cells.append("-" if klu.get("error_occurred") else f"{klu['per_point'] / lanes['per_point']:.1f}")
        share = ours["multiply_adds"] * peak_s / ours["per_point"]
        cells.append(f"{100 * share:.0f} %" if share else "-")
        print("| " + " | ".join(cells) + " |")
    print()
    print(f"Peak: {1e-9 / peak_s:.1f} thousand million multiply-adds a second.")
    for run in runs:
        if not run["name"].startswith(("solve/", "peak")):
            print(f"{run['name'].split('/')[0]}: {run['real_time']:.0f} {run['time_unit']}")


main(sys.argv[1])
