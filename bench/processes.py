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


command = sys.argv[1]
board = "netlists/boards/heron-c.toml"
runs = {
    "sweep": best([command, "sweep", board], 10),
    "check": best([command, "check", board], 10),
}
for boards in (250, 500, 1000, 2000):
    name = f"tolerance, {boards} boards"
    runs[name] = best([command, "tolerance", board, "--boards", str(boards)], 1)
print(json.dumps(runs))
