"""A peer in Python: NumPy's batched dense solve (LAPACK's zgesv, one core) on the demo boards.

Prints JSON: microseconds a point by board, or null where the gains of both sides differ.
"""

import json
import os
import pathlib
import sys
import time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[threads] = "1"

import numpy  # noqa: E402  the number of threads is read when it is loaded


def point_us(path):
    numbers = numpy.fromfile(path)
    n = int(numbers[0])
    g, c = numbers[1 : 1 + 2 * n * n].reshape(2, n, n)
    b, output = numbers[1 + 2 * n * n :].reshape(2, n).astype(complex)
    omega = 2 * numpy.pi * 20 * 1000 ** (numpy.arange(64) / 63)

    def solve():
        a = g + 1j * omega[:, None, None] * c
        x = numpy.linalg.solve(a, numpy.broadcast_to(b, (64, n))[:, :, None])[:, :, 0]
        y = numpy.linalg.solve(
            a.transpose(0, 2, 1), numpy.broadcast_to(output, (64, n))[:, :, None]
        )[:, :, 0]
        return x @ output, y @ b

    gain, adjoint = solve()
    if not numpy.allclose(gain, adjoint, rtol=1e-7, atol=0):
        return None
    best = min(timed(solve) for _ in range(20))
    return 1e6 * best / len(omega)


def timed(function):
    begin = time.perf_counter()
    function()
    return time.perf_counter() - begin


print(json.dumps({p.stem: point_us(p) for p in sorted(pathlib.Path(sys.argv[1]).glob("*.bin"))}))
