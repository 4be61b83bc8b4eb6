"""The single numbers of a knob position."""
import math

import numpy as np
from mpmath import fp, mp, mpf
from scipy.integrate import quad_vec

from network import Network
from quantities import DBU_V
from weighting import a_weighting, bs468

BAND_HZ = (20.0, 20e3)
CHECKED_HZ = (20.0, 47.3, 112.0, 1000.0, 3456.7, 12e3, 20e3)
AGREEMENT = 1e-9  # double against 40 digits, relative


def decibel(ratio):
    return 20 * math.log10(float(ratio)) if ratio and ratio > 0 else None


def band_integrals(fast):
    """Integrals over the band, V^2: total, A, BS.468, total with a shorted capsule, then each source.

    quad_vec over ln f, split at decades and at the points of a measured capsule.
    """
    sources = list(fast.solve(1000.0)[1])

    def integrand(x):
        f = math.exp(x)
        powers = fast.solve(f)[1]
        total, shorted = sum(powers.values()), sum(fast.solve(f, "short")[1].values())
        weighted = [total, total * a_weighting(f), total * bs468(f)]
        return f * np.array(weighted + [shorted] + [powers[key] for key in sources])

    splits = [math.log(f) for f in (100.0, 1e3, 1e4, *measured_points(fast))]
    low, high = map(math.log, BAND_HZ)
    values, error = quad_vec(integrand, low, high, points=sorted(splits), epsrel=1e-11, norm="max", limit=2000)
    return values[:4], dict(zip(sources, values[4:])), error / max(values[0], 1e-300)


def measured_points(fast):
    points = fast.capsule.points if fast.capsule else []
    return [point[0] for point in points if BAND_HZ[0] < point[0] < BAND_HZ[1]]


def disagreement(exact, fast):
    """Largest relative difference of gain and of noise powers between double and 40 digits."""
    worst = 0.0
    for f in CHECKED_HZ:
        for source in ("capsule", "short"):
            (h, powers), (h2, powers2) = exact.solve(f, source), fast.solve(f, source)
            pairs = [(h, h2), (sum(powers.values()), sum(powers2.values()))]
            worst = max([worst] + [float(abs(b / a - 1)) for a, b in pairs if a != 0])
    return worst


def corner(exact, fast, direction):
    """Nearest frequency to 1 kHz at which |gain| is 3.0103 dB under that at 1 kHz; None in 1 mHz..1 GHz."""
    target = abs(exact.solve(1000)[0]) / mp.sqrt(2)
    low, high = (fast.capsule.range_hz() if fast.capsule else None) or (1e-3, 1e9)
    inner = 3.0
    for i in range(1, 241):  # six decades, 40 steps each
        outer = 3.0 + direction * i / 40
        if not low <= 10 ** outer <= high:
            return None
        if abs(fast.solve(10 ** outer)[0]) < target:
            excess = lambda x: mp.log(abs(exact.solve(mpf(10) ** x)[0]) / target)
            root = mp.findroot(excess, (mpf(inner), mpf(outer)), solver="anderson", tol=1e-26, maxsteps=60)
            return float(mpf(10) ** root)
        inner = outer
    return None


def group_delay(exact, f):
    """-d(phase)/d(omega) in seconds, central difference with a relative step of 1e-12 in 40 digits."""
    h = mpf(f) * mpf("1e-12")
    above, below = exact.solve(mpf(f) + h)[0], exact.solve(mpf(f) - h)[0]
    return -mp.im(mp.log(above / below)) / (4 * mp.pi * h)


def input_impedance(exact, f):
    """Z of the terminals without the capsule, from the divider that a 1 kohm source makes with it."""
    ratio = exact.solve(f, "probe", watch="input")[0]
    return 1000 * ratio / (1 - ratio) if abs(1 - ratio) > mpf(10) ** -25 else None


def measures(board, rotations):
    """Every measure of one knob position, the noise by source over the band, and how well double did."""
    exact, fast = Network(board, rotations, mp), Network(board, rotations, fp)
    worst = disagreement(exact, fast)
    if worst > AGREEMENT:
        raise ArithmeticError(f"double precision is {worst:.1e} off")
    (total, a, itu, shorted), by_source, error = band_integrals(fast)
    gain = abs(exact.solve(1000)[0])
    ein = [math.sqrt(power) / float(gain) if gain else None for power in (total, a, itu)]
    thermal = by_source.get(("capsule", "thermal"), 0)
    numbers = {
        "gain_1khz_db": decibel(gain),
        "low_corner_hz": corner(exact, fast, -1), "high_corner_hz": corner(exact, fast, 1),
        "output_noise_v": math.sqrt(total), "ein_v": ein[0],
        **{key: ein_v and decibel(ein_v / DBU_V) for key, ein_v in zip(("ein_dbu", "ein_a_dbu", "ein_468_dbu"), ein)},
        "noise_figure_db": 10 * math.log10(total / thermal) if thermal else None,
        "capsule_noise_rise_db": 10 * math.log10(total / shorted) if total and shorted else None,
    }
    return numbers, by_source, {"double_vs_40_digits": worst, "quadrature_error": error}
