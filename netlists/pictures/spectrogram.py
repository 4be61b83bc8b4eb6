#!/usr/bin/env python3
"""spectrogram.py FILE.wav > points: mono sound as lines of time, frequency and level in dB (python3-numpy).

The level is of a sine re full scale: Hann windows of 1024 samples, every 512."""
import sys
import wave

import numpy

SIZE, STEP = 1024, 512
with wave.open(sys.argv[1]) as file:
    rate, width = file.getframerate(), file.getsampwidth()
    raw = numpy.frombuffer(file.readframes(file.getnframes()), numpy.uint8).reshape(-1, width)
wide = numpy.zeros((len(raw), 4), numpy.uint8)
wide[:, 4 - width:] = raw
x = wide.view("<i4").ravel() / 2.0 ** 31
window = numpy.hanning(SIZE)
for start in range(0, len(x) - SIZE, STEP):
    level = numpy.abs(numpy.fft.rfft(x[start:start + SIZE] * window)) / (window.sum() / 2)
    for k in range(1, SIZE // 2, 2):
        db = 20 * numpy.log10(max(1e-9, level[k:k + 2].max()))
        print(f"{(start + SIZE / 2) / rate:.4f} {k * rate / SIZE / 1000:.4f} {db:.1f}")
    print()
