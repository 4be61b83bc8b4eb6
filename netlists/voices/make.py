#!/usr/bin/env python3
"""Makes the sounds that the demo listens to: vowels.wav, a phrase of vowels, and pink.wav.

Nobody was recorded. A glottal pulse of polynomial shape, with breath, goes through five resonators
in cascade whose frequencies glide from vowel to vowel; figures of a low voice, rounded, from memory.
Pink noise is white noise through one-pole filters an octave apart. The same bytes on every run.
"""
import array
import math
import pathlib
import random
import wave

RATE = 44100
VOWELS = {  # frequencies of the first three resonances, Hz
    "a": (740, 1150, 2500), "e": (460, 1850, 2500), "i": (290, 2150, 2900),
    "o": (450, 800, 2450), "u": (320, 750, 2250)}
BANDWIDTHS = (70, 90, 130, 200, 250)
UPPER = (3400, 4200)
# vowel, seconds, pitch at its end in Hz; None is a pause, in which the preamp is heard
PHRASE = (("a", 0.45, 132), ("e", 0.22, 140), ("i", 0.3, 148), (None, 0.35, 128), ("o", 0.3, 126),
          ("u", 0.25, 120), ("a", 0.4, 108), (None, 0.6, 108))


class Resonator:
    """y[n] = g x[n] + b y[n-1] + c y[n-2], of gain 1 at 0 Hz."""

    def __init__(self):
        self.y1 = self.y2 = 0.0

    def step(self, x, frequency, bandwidth):
        c = -math.exp(-2 * math.pi * bandwidth / RATE)
        b = 2 * math.exp(-math.pi * bandwidth / RATE) * math.cos(2 * math.pi * frequency / RATE)
        y = (1 - b - c) * x + b * self.y1 + c * self.y2
        self.y1, self.y2 = y, self.y1
        return y


def glottal(phase):
    """The derivative of a pulse that opens over 60 % of the period and closes at once."""
    t = phase / 0.6
    return 2 * t - 3 * t * t if t < 1 else 0.0


def vowels():
    draw = random.Random(21)
    resonators = [Resonator() for _ in range(5)]
    formants = list(VOWELS["a"])
    phase, pitch, loud, out = 0.0, 120.0, 0.0, []
    for vowel, seconds, end_pitch in PHRASE:
        count = int(seconds * RATE)
        begin_pitch = pitch
        for n in range(count):
            part = n / count
            pitch = begin_pitch + (end_pitch - begin_pitch) * part
            wanted = 0.0 if vowel is None or part > 0.9 and vowel == "i" else 1.0
            loud += (wanted - loud) * (1 - math.exp(-1 / (0.02 * RATE)))
            target = VOWELS[vowel] if vowel else formants
            formants = [f + (g - f) / (0.035 * RATE) for f, g in zip(formants, target)]
            phase += pitch / RATE * (1 + 0.004 * draw.gauss(0, 1))
            phase -= math.floor(phase)
            breath = 0.03 * draw.gauss(0, 1) * (1 if phase < 0.6 else 0.3)
            x = loud * (glottal(phase) + breath)
            for resonator, f, width in zip(resonators, (*formants, *UPPER), BANDWIDTHS):
                x = resonator.step(x, f, width)
            out.append(x)
    return out


def pink(seconds):
    draw = random.Random(22)
    corners = [20 * 2 ** k for k in range(11)]
    poles = [math.exp(-2 * math.pi * f / RATE) for f in corners]
    gains = [(1 - p) / math.sqrt(f) for p, f in zip(poles, corners)]
    states, out = [0.0] * len(poles), []
    for _ in range(int(seconds * RATE)):
        white = draw.gauss(0, 1)
        states = [p * s + g * white for p, g, s in zip(poles, gains, states)]
        out.append(sum(states))
    return out


def write(name, samples):
    largest = max(abs(v) for v in samples)
    words = array.array("h", (round(0.5 * 32767 * v / largest) for v in samples))
    with wave.open(str(pathlib.Path(__file__).parent / name), "wb") as file:
        file.setparams((1, 2, RATE, len(words), "NONE", ""))
        file.writeframes(words.tobytes())


write("vowels.wav", vowels())
write("pink.wav", pink(1.5))
