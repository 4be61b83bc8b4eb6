"""Texts of a board file to numbers, in 40-digit arithmetic.

Lenient on purpose: wrong input is the engine's business, this reads only good boards.
"""
import re
import unicodedata

from mpmath import mp, mpf

mp.dps = 40

BOLTZMANN = mpf("1.380649e-23")  # J/K, SI 2019, exact
DBU_V = mp.sqrt(mpf("0.6"))  # 0 dBu

# Texts are brought to Unicode's compatibility form first: one mu, one Omega.
PREFIX = {"": 0, "f": -15, "p": -12, "n": -9, "u": -6, "\u03bc": -6, "m": -3, "k": 3, "M": 6, "G": 9}
# Units and the factor that takes them to the SI base unit.
UNIT = {
    "": 1, "R": 1, "ohm": 1, "\u03a9": 1, "F": 1, "H": 1, "Hz": 1, "V": 1, "A": 1, "S": 1, "K": 1,
    "V/rtHz": 1, "V/√Hz": 1, "A/rtHz": 1, "A/√Hz": 1, "V/V": 1, "A/A": 1, "A/V": 1, "V/A": 1, "V/Pa": 1,
    "V/mV": 1000, "V/uV": 1000000, "V/\u03bcV": 1000000,
}
LETTER_CODE = re.compile("^(\\d*)([Rfpnu\u03bcmkMG])(\\d+)(?:\\s*(?:ohm|\u03a9|F|H))?$")  # IEC 60062: 4k7, R47
NUMBER = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$")


def number(value):
    """Value in SI base units as mpf; dB become an amplitude ratio, % a fraction, degC kelvin."""
    if not isinstance(value, str):
        return mpf(repr(value))
    text = unicodedata.normalize("NFKC", value.strip())
    code = LETTER_CODE.match(text)
    if code:
        whole, letter, decimals = code.groups()
        return mpf(f"{whole or 0}.{decimals}e{0 if letter == 'R' else PREFIX[letter]}")
    digits, unit = NUMBER.match(text).groups()
    if unit == "dB":
        return mpf(10) ** (mpf(digits) / 20)
    if unit == "%":
        return mpf(digits) / 100
    if unit == "degC":
        return mpf(digits) + mpf("273.15")
    return mpf(digits) * scale(unit, value)


def scale(unit, text):
    """Factor of a prefix and a unit, such as 'nV/rtHz'."""
    if unit in UNIT:
        return mpf(UNIT[unit])
    if unit[0] in PREFIX and unit[1:] in UNIT:
        return mpf(10) ** PREFIX[unit[0]] * UNIT[unit[1:]]
    raise ValueError(f"cannot read {text!r}")
