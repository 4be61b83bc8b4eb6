"""Whole runs of the command, as a user starts them: wall time, processor time and memory."""

import json
import os
import sys
import time


def run(arguments):
    begin = time.perf_counter()
    pid = os.fork()
    if pid == 0:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.execv(arguments[0], arguments)
    _, status, usage = os.wait4(pid, 0)
    return {
        "status": os.waitstatus_to_exitcode(status),
        "wall_s": time.perf_counter() - begin,
        "processor_s": usage.ru_utime + usage.ru_stime,
        "memory_mb": usage.ru_maxrss / 1024,
    }


def best(arguments, times):
    return min((run(arguments) for _ in range(times)), key=lambda one: one["wall_s"])


def ratio(command, previous, arguments, times):
    """Processor time of the previous program over that of this one, each the least of alternating runs."""
    pairs = [(run([previous] + arguments), run([command] + arguments)) for _ in range(times)]
    if any(one["status"] not in (0, 1) for pair in pairs for one in pair):
        return None
    before, now = (min(one["processor_s"] for one in side) for side in zip(*pairs))
    return {"before_s": before, "now_s": now, "ratio": before / now}


command = sys.argv[1]
boards = "netlists/boards"
board = f"{boards}/heron-c.toml"
runs = {
    "sweep": best([command, "sweep", board], 10),
    "check": best([command, "check", board], 10),
}
for count in (250, 500, 1000, 2000):
    name = f"tolerance, {count} boards"
    runs[name] = best([command, "tolerance", board, "--boards", str(count)], 1)
result = {"runs": runs, "ratios": {}}
if len(sys.argv) > 2:
    # Both programs read the boards that the previous one came with, in this folder.
    previous, boards = sys.argv[2], sys.argv[3]
    for name in ("heron-c", "dabchick", "curlew"):
        path = f"{boards}/{name}.toml"
        for arguments, times in (
            (["tolerance", path, "--boards", "300"], 3),
            (["sweep", path], 10),
            (["check", "--limits-only", path], 10),
        ):
            result["ratios"][f"{arguments[0]} {name}"] = ratio(command, previous, arguments, times)
print(json.dumps(result))
