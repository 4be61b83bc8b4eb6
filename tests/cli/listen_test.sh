#!/usr/bin/env bash
# `listen`: the same bytes from the same seed, files of every kind, and the messages of refusals.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 boards=$2/netlists/boards voices=$2/netlists/voices
command -v python3 >/dev/null || exit 77
heron=$boards/heron-d.toml vowels=$voices/vowels.wav
listen() { "$lowhiss" listen "$@"; }
cd "$room" || exit 1

# wav FILE RATE CHANNELS BYTES SECONDS: a sine of 1 kHz at half of full scale, in so many bytes.
cat >wav.py <<'PY'
import math, sys, wave
name, rate, channels, width, seconds = sys.argv[1], *map(int, sys.argv[2:5]), float(sys.argv[5])
with wave.open(name, "wb") as file:
    file.setparams((channels, width, rate, 0, "NONE", ""))
    full = 2 ** (8 * width - 1) - 1
    for n in range(int(rate * seconds)):
        v = round(0.5 * full * math.sin(2 * math.pi * 1000 * n / rate))
        file.writeframes(v.to_bytes(width, "little", signed=True) * channels)
PY
# json KEY...: what a path of keys leads to in x.json.
json() { python3 -c 'import json,sys
v = json.load(open("x.json"))
for key in sys.argv[1:]: v = v[int(key) if key.isdigit() else key]
print(v)' "$@"; }
near() { python3 -c 'import sys; a, b, d = map(float, sys.argv[1:]); sys.exit(abs(a - b) > d)' "$@"; }

# The figures: gain and noise are those of sweep.
expect 0 "Signal" listen "$heron" "$vowels" --level "94 dB SPL" --output x.wav --json x.json
require near "$(json boards 0 gain_1khz_db)" 53.65 0.02
require near "$(json boards 0 noise dbu)" -73.7 0.06
require near "$(json boards 0 noise db_spl_a)" 17.2 0.06
require near "$(json boards 0 noise_in_file dbu)" -73.7 0.5
require [ "$(json boards 0 amplifier part)" = U1 ]
# 1 Pa is 93.98 dB SPL (20 uPa by ISO 1683).
sensitivity=$(sed -n '/capsule.dynamic-200/,/^$/s/.*sensitivity *= *"\([0-9.]*\) mV\/Pa".*/\1/p' "$2/netlists/capsules/capsules.toml" | head -n 1)
require near "$(json boards 0 emf_v)" "$(python3 -c "print(${sensitivity:-0}e-3 * 10 ** ((94 - 93.9794) / 20))")" 1e-7

# Reproducible; another seed has other noise.
expect 0 "" listen "$heron" "$vowels" --level "94 dB SPL" --output y.wav --quiet
require cmp x.wav y.wav
expect 0 "" listen "$heron" "$vowels" --level "94 dB SPL" --output y.wav --seed 2 --quiet
require bash -c "! cmp -s x.wav y.wav"
expect 0 "" listen "$heron" "$vowels" --level "94 dB SPL" --output - >y.wav
require cmp x.wav "$room/out"

# A sine of half of full scale at -60 dBu comes out 53.65 dB higher, whatever the rate and the bits.
for rate in 8000 22050 44100 48000 96000; do
    python3 wav.py s.wav $rate 1 2 1
    expect 0 "" listen "$heron" s.wav --level "-60 dBu" --only signal --output x.wav --json x.json
    # Beginning and end are transients; 0.05 dB leaves room for them.
    require near "$(json boards 0 signal dbu)" -6.35 0.05
done
for width in 2 3 4; do
    python3 wav.py s.wav 48000 2 $width 0.5
    expect 0 "stereo: each channel" listen "$heron" s.wav --level "-60 dBu" --only signal --output x.wav --json x.json
    require near "$(json boards 0 signal dbu)" -6.35 0.1
    require [ "$(json voice channels)" -eq 2 ]
done
# Samples are what was asked for: bytes a frame in the header.
for samples in 16=2 24=3 float=4; do
    expect 0 "" listen "$heron" s.wav --level "-60 dBu" --output x.wav --samples "${samples%=*}" --quiet
    require [ "$(od -An -tu2 -j32 -N2 x.wav | tr -d ' ')" -eq $((2 * ${samples#*=})) ]
done

# The recorder's full scale and the amplifier's clip.
expect 0 "clipped: none" listen "$heron" s.wav --level "-60 dBu" --output x.wav --json x.json
require near "$(json boards 0 peak_dbfs)" -10.35 0.3
expect 0 "U1 clips at" listen "$heron" s.wav --level "-30 dBu" --output x.wav --json x.json
require [ "$(json boards 0 amplifier clipped_samples)" -gt 20000 ]
require [ "$(json boards 0 recorder_clipped_samples)" -gt 20000 ]
expect 0 "" listen "$heron" s.wav --level "-30 dBu" --full-scale "24 dBu" --output x.wav --json x.json
require [ "$(json boards 0 recorder_clipped_samples)" -eq 0 ]

# Two boards at one loudness, one after the other; noise alone at the gain of playback.
expect 0 "B from 3.37 s" listen "$boards/heron-b.toml" "$boards/heron-c.toml" "$vowels" --level "54 dB SPL" --match "-23 LUFS" --output x.wav --json x.json
require near "$(json boards 0 playback_gain_db)" "$(python3 -c "print(-23 - ($(json boards 0 loudness_lufs)))")" 1e-9
expect 0 "the noise alone" listen "$boards/heron-b.toml" "$boards/heron-c.toml" "$vowels" --level "54 dB SPL" --match "-23 LUFS" --only noise --output y.wav
expect 0 "" listen "$heron@lithium" "$vowels" --level "54 dB SPL" --json x.json
require [ "$(json boards 0 variant)" = lithium ]

# Noise needs no level and no sensitivity.
expect 0 "Noise" listen "$boards/tern.toml" "$vowels" --only noise --output x.wav
expect 2 "has no sensitivity" listen "$boards/tern.toml" "$vowels" --level "74 dB SPL" --output x.wav

# Refusals. None leaves a file behind.
rm -f x.wav y.wav
expect 2 "a board and a sound file" listen "$heron" --level "-50 dBu" --output x.wav
expect 2 "--level is missing" listen "$heron" "$vowels" --output x.wav
expect 2 "with its unit" listen "$heron" "$vowels" --level 74 --output x.wav
expect 2 "is out of range; accepted: -20 dB SPL to 170 dB SPL" listen "$heron" "$vowels" --level "300 dB SPL" --output x.wav
expect 2 "--match: '-23 dB'" listen "$heron" "$vowels" --level "-50 dBu" --match "-23 dB" --output x.wav
expect 2 "--full-scale: 'loud'" listen "$heron" "$vowels" --level "-50 dBu" --full-scale loud --output x.wav
expect 2 "one position" listen "$heron" "$vowels" --level "-50 dBu" --knob 0,1 --output x.wav
expect 2 "is written as WAV" listen "$heron" "$vowels" --level "-50 dBu" --output x.flac
expect 2 "there is no such file" listen "$heron" none.wav --level "-50 dBu" --output x.wav
expect 2 "it is a folder" listen "$heron" . --level "-50 dBu" --output x.wav
expect 2 "not a plain file" listen "$heron" /dev/zero --level "-50 dBu" --output x.wav
expect 2 "not a readable sound file" listen "$heron" "$heron" --level "-50 dBu" --output x.wav
: >empty.wav
expect 2 "not a readable sound file" listen "$heron" empty.wav --level "-50 dBu" --output x.wav
head -c 44 s.wav >header.wav
expect 2 "it has no samples" listen "$heron" header.wav --level "-50 dBu" --output x.wav
head -c 20 s.wav >cut.wav
expect 2 "cut.wav" listen "$heron" cut.wav --level "-50 dBu" --output x.wav
python3 wav.py silent.wav 48000 1 2 0
python3 -c 'import wave
f = wave.open("silent.wav", "wb"); f.setparams((1, 2, 48000, 0, "NONE", "")); f.writeframes(bytes(96000))'
expect 2 "is silent" listen "$heron" silent.wav --level "-50 dBu" --output x.wav
expect 0 "" listen "$heron" silent.wav --only noise --output noise.wav
python3 wav.py slow.wav 4000 1 2 0.1
expect 2 "its rate is 4000 Hz" listen "$heron" slow.wav --level "-50 dBu" --output x.wav
python3 wav.py many.wav 48000 3 2 0.1
expect 2 "it has 3 channels" listen "$heron" many.wav --level "-50 dBu" --output x.wav
python3 wav.py short.wav 48000 1 2 0.2
expect 2 "no loudness" listen "$heron" short.wav --level "-50 dBu" --match "-23 LUFS" --output x.wav
# A day and more, in a sparse file.
python3 -c 'import struct
size = 2 * 8000 * 90000
f = open("huge.wav", "wb")
f.write(b"RIFF" + struct.pack("<I", size + 36) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, 8000, 16000, 2, 16))
f.write(b"data" + struct.pack("<I", size)); f.truncate(size + 44)'
expect 2 "25 hours" listen "$heron" huge.wav --level "-50 dBu" --output x.wav
# A sample that is no number.
python3 -c 'import struct
samples = [0.1] * 1000; samples[500] = float("nan")
data = struct.pack("<1000f", *samples)
open("nan.wav", "wb").write(b"RIFF" + struct.pack("<I", len(data) + 36) + b"WAVEfmt " +
    struct.pack("<IHHIIHH", 16, 3, 1, 48000, 192000, 4, 32) + b"data" + struct.pack("<I", len(data)) + data)'
expect 2 "its sample at 0.0104167 s is nan" listen "$heron" nan.wav --level "-50 dBu" --output x.wav
# No output replaces what was read.
cp s.wav mine.wav
expect 2 "would be replaced" listen "$heron" mine.wav --level "-50 dBu" --output mine.wav
ln mine.wav other.wav
expect 2 "would be replaced" listen "$heron" mine.wav --level "-50 dBu" --output other.wav
require cmp s.wav mine.wav
expect 2 "No such file or directory" listen "$heron" s.wav --level "-50 dBu" --output none/x.wav
require [ ! -e x.wav ]
# A board that oscillates has no response.
cat >wild.toml <<'TOML'
input  = { plus = "in" }
output = { plus = "out" }
opamp.wild = { open_loop_gain = "100 dB", gain_bandwidth = "10 MHz", second_pole = "2 MHz", output_resistance = "200R" }
[parts]
R1 = { resistor = "10k", pins = ["in", "gnd"] }
U1 = { opamp = "wild", plus = "in", minus = "out", out = "out" }
C1 = { capacitor = "10n", pins = ["out", "gnd"] }
TOML
expect 3 "no response to listen to" listen wild.toml s.wav --level "-50 dBu" --output x.wav

# Ctrl-C while the file is written: nothing is left, and the program ends by the signal.
python3 -c 'import wave
f = wave.open("long.wav", "wb"); f.setparams((2, 2, 48000, 0, "NONE", ""))
f.writeframes(b"\x10\x20\x30\xe0" * 48000 * 600)'
mkdir -p written
timeout --preserve-status -s INT 6 "$lowhiss" listen "$heron" long.wav --level "-60 dBu" --output written/x.wav >/dev/null 2>&1
status=$?
require [ $status -eq 130 -o $status -eq 0 ]
require [ $status -eq 0 -o -z "$(ls written)" ]

exit $failures
