#!/usr/bin/env bash
# `fit`: a board accepts its output as it is, and bad data is refused with a message.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1 capsules=$2/netlists/capsules
measured=$capsules/measured-300.s1p
cd "$room" || exit 1

# A capsule, a noise density and a taper, each in a board that sweeps.
expect 0 "" "$lowhiss" fit "$measured" --name fitted --output capsule.toml --json fit.json --plot fit.svg
require grep -qF "[capsule.fitted]" capsule.toml
require grep -qF '"residual"' fit.json
require grep -qF "<svg" fit.svg
expect 0 "[capsule.fitted]" "$lowhiss" fit "$measured" --name fitted
require cmp out capsule.toml # --output writes what is printed without it
expect 0 '"residual"' "$lowhiss" fit "$measured" --name fitted --json -
require cmp out fit.json
"$lowhiss" fit --noise "10 Hz=8 nV/rtHz,1 kHz=3.5 nV/rtHz" >noise.toml
"$lowhiss" fit --noise "10 Hz=5 pA/rtHz,1 kHz=1 pA/rtHz" >>noise.toml
printf 'rotation,resistance_ohm\n# of the panel\n0,2\n0.25,390\n0.5,1500\n0.75,4100\n1,10000\n' >pot.csv
expect 0 'potentiometer = "9.998 kΩ"' "$lowhiss" fit --taper pot.csv
cp out taper.toml
{
    echo 'board.include = ["capsule.toml"]'
    echo 'input = { plus = "mic", capsule = "fitted" }'
    echo 'output = { plus = "out" }'
    echo 'knob = { part = "RV1", positions = [0.0, 0.5, 1.0] }'
    echo '[parts]'
    echo 'R1 = { resistor = "22k", pins = ["mic", "gnd"] }'
    echo 'U1 = { opamp = "fitted", plus = "mic", minus = "fb", out = "out" }'
    echo 'R2 = { resistor = "10k", pins = ["out", "fb"] }'
    echo 'R3 = { resistor = "47R", pins = ["leg", "gnd"] }'
    echo '[parts.RV1]'
    echo 'pins = ["fb", "fb", "leg"]'
    cat taper.toml
    echo '[opamp.fitted]'
    echo 'open_loop_gain = "110 dB"'
    echo 'gain_bandwidth = "10 MHz"'
    cat noise.toml
} >board.toml
expect 0 "capsule fitted" "$lowhiss" sweep board.toml --json board.json
# In the middle of the rotation the track has 10 kΩ less the measured 1.5 kΩ: the same gain.
sed -e '/^\[parts.RV1\]/,/^\[opamp/{/^\[opamp/!d}' -e '/^knob/d' \
    -e 's/^R3 = .*/R3 = { resistor = "8.547k", pins = ["fb", "gnd"] }/' board.toml >resistor.toml
gain() { "$lowhiss" sweep "$@" | sed -n 's/^  Gain  *\([0-9.]*\) dB.*/\1/p'; }
require [ -n "$(gain resistor.toml)" ]
require [ "$(gain board.toml --knob 0.5)" = "$(gain resistor.toml)" ]

# refused TEXT OPTION...: with this message and no result, and nothing is written.
refused() {
    local text=$1
    shift
    rm -f none.toml none.json
    expect 2 "$text" "$lowhiss" fit "$@" --output none.toml --json none.json
    require [ ! -s out ]
    require [ ! -e none.toml ]
    require [ ! -e none.json ]
}
refused "fit takes one measurement"
refused "fit takes one measurement" "$measured" --noise "10 Hz=8 nV/rtHz"
refused "there is no such file" none.s1p
refused "--from must be lower than --to" "$measured" --from 2kHz --to 1kHz
refused "are too few" "$measured" --from 1kHz --to 1.01kHz
refused "--plot and --name apply to a capsule" --noise "10 Hz=8 nV/rtHz,1 kHz=3 nV/rtHz" --name x
refused "is not a pair" --noise "10 Hz"
refused "is not above 0" --noise "10 Hz=0 nV/rtHz,1 kHz=3 nV/rtHz"
refused "--noise: " --noise "10 Hz=8 nV/rtHz,1 kHz=3 pA/rtHz"
refused "--noise: " --noise "10 Hz=1 nV/rtHz,1 kHz=3 nV/rtHz"
refused "--noise: " --noise "10 Hz=8 nV/rtHz"
refused "--taper: " --taper "0=0,50%=0.6,60%=0.5,100%=1"
refused "is out of range" --taper "0=0,150%=0.6,100%=1"
printf 'f\n' >capsule.csv
refused "capsule.csv:1:" capsule.csv

# mistake LINE:COLUMN TEXT CONTENT: a file of positions, and where it is wrong.
mistake() {
    printf "$3" >bad.csv
    refused "bad.csv:$1: error: " --taper bad.csv
    require grep -qF -- "$2" err
}
mistake 1:1 "the first line does not name these columns" '0,2\n1,3\n'
mistake 1:1 "the first line does not name these columns" 'rotation,ohm\n0,2\n'
mistake 1:1 "the first line does not name these columns" 'fraction,rotation\n0,0\n'
mistake 3:1 "the rotation is not between 0 and 1" 'rotation,fraction\n0,0\n50,1\n'
mistake 2:3 "the value is negative" 'rotation,fraction\n0,-1\n'
mistake 2:3 "" 'rotation,fraction\n0,x\n'
mistake 2:1 "" 'rotation,fraction\nnan,0\n'
mistake 2:1 "accepted: a header" 'rotation,fraction\n0\n'
mistake 2:5 "the line has 3 columns" 'rotation,fraction\n0,5,1\n'
: >bad.csv
refused "there is no position" --taper bad.csv
printf 'rotation,fraction\n0,0\n0.5,0.6\n0.6,0.5\n1,1\n' >bad.csv
refused "bad.csv: " --taper bad.csv
printf 'rotation,fraction\r\n0,0\r\n0.5,0.15\r\n1,1' >crlf.csv # and without a last newline
expect 0 "taper = [[0, 0], [0.5, 0.15], [1, 1]]" "$lowhiss" fit --taper crlf.csv

exit $failures
