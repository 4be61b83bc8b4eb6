"""Weighting curves as power factors, 0 dB at 1 kHz."""
import math


def a_weighting_poles():
    """The four pole frequencies in Hz from IEC 61672-1:2013, annex E (formulas from memory)."""
    fr, fl, fh, fa = 1000.0, 10 ** 1.5, 10 ** 3.9, 10 ** 2.45
    d = math.sqrt(0.5)
    c = fl ** 2 * fh ** 2
    b = (fr ** 2 + c / fr ** 2 - d * (fl ** 2 + fh ** 2)) / (1 - d)
    root = math.sqrt(b * b - 4 * c)
    return (math.sqrt((-b - root) / 2), fa * (3 - math.sqrt(5)) / 2, fa * (3 + math.sqrt(5)) / 2,
            math.sqrt((-b + root) / 2))


def a_weighting_unscaled(f):
    f1, f2, f3, f4 = A_POLES
    return f4 ** 4 * f ** 8 / ((f * f + f1 * f1) ** 2 * (f * f + f2 * f2) * (f * f + f3 * f3) * (f * f + f4 * f4) ** 2)


def bs468_unscaled(f):
    """|V / EMF|^2 of the network of ITU-R BS.468-4, figure 1a, walked from its load back to the source."""
    s = 2j * math.pi * f
    v, i = 1.0, 1 / 600 + s * 31.47e-9
    for series, shunt in ((s * 26.49e-3, 9.21e-9), (1 / (s * 33.06e-9), 26.82e-9), (s * 12.88e-3, 13.85e-9)):
        v = v + i * series
        i = i + v * s * shunt
    return 1 / abs(v + 600 * i) ** 2


A_POLES = a_weighting_poles()
A_AT_1KHZ, BS468_AT_1KHZ = a_weighting_unscaled(1000.0), bs468_unscaled(1000.0)


def a_weighting(f):
    """IEC 61672-1 A-weighting, power."""
    return a_weighting_unscaled(f) / A_AT_1KHZ


def bs468(f):
    """ITU-R BS.468-4, power, for an rms meter."""
    return bs468_unscaled(f) / BS468_AT_1KHZ
