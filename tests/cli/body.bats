#!/usr/bin/env bats
# brineband body: keys, words, and what it refuses.

bats_require_minimum_version 1.5.0
disc=(--shape disc --diameter 23.25 --thickness 2.33)

@test "body: the JSON keys that other programs rely on, with independently computed values" {
    run -0 "$BRINEBAND" body "${disc[@]}" --conductivity 9.3MS/m --frequency 10 --json
    echo "$output" | python3 -c '
import json, math, sys
found = json.load(sys.stdin)
assert sorted(found["poles"][0]) == ["strength_m3", "time_constant_us"]
first = found["poles"][0]                                         # reference/body_modes.csv
assert abs(first["time_constant_us"] / 48.57719711 - 1) < 1e-8
assert abs(first["strength_m3"] / 3.615555858e-6 - 1) < 1e-8
assert abs(found["angle_deg"] - 65.786748) < 1e-3                 # reference/body_response.csv
assert abs(math.hypot(found["X_m3"], found["R_m3"]) / 4.19507634e-6 - 1) < 1e-5
moment = sum(p["strength_m3"] * p["time_constant_us"] for p in found["poles"])
exact = math.pi / 8 * 4e-7 * math.pi * 9.3e6 * 2.33e-3 * 11.625e-3 ** 4 * 1e6
assert abs(moment / exact - 1) < 1e-9
'
}

@test "body: a ring and a sphere" {
    run -0 "$BRINEBAND" body --shape ring --diameter 20 --thickness 3 --bore 17 \
        --material "gold 18ct" --frequency 10 --json
    echo "$output" | python3 -c '
import json, sys
assert abs(json.load(sys.stdin)["angle_deg"] - 42.168639) < 1e-3  # reference/body_response.csv
'
    run -0 "$BRINEBAND" body --shape sphere --diameter 2cm --material copper --frequency 10kHz --json
    echo "$output" | python3 -c '
import json, sys
assert abs(json.load(sys.stdin)["angle_deg"] - 84.1326453) < 1e-6 # reference/sphere_response.csv
'
}

@test "body: a magnetic sphere has no poles and says so" {
    run -0 "$BRINEBAND" body --shape sphere --diameter 10 --conductivity 6MS/m --permeability 100 \
        --frequency 5 --json
    echo "$output" | python3 -c '
import json, sys
found = json.load(sys.stdin)
assert found["poles"] == []
assert abs(found["angle_deg"] + 76.295856) < 1e-5                 # reference/sphere_response.csv
'
    run -0 "$BRINEBAND" body --shape sphere --diameter 10 --material steel --frequency 5
    [[ "$output" == *"It is magnetic"* ]]
}

@test "body: the words give the answer first" {
    run -0 "$BRINEBAND" body "${disc[@]}" --material "nordic gold" --frequency 10
    [ "${lines[0]}" = "At 10 kHz its response angle is 65.8 degrees, its strength 4200 mm3." ]
    [[ "$output" == *"nordic gold is taken to conduct 9.3 MS/m at 20 degC"* ]]
    while IFS= read -r line; do [ "${#line}" -le 80 ]; done <<<"$output"
}

@test "body: says what is missing or cannot be" {
    local -A wrong=(
        ["--shape cube --diameter 2 --material copper --frequency 5"]="--shape: found 'cube', accepted disc, ring or sphere"
        ["--shape disc --diameter 2 --material copper --frequency 5"]="a disc needs --thickness"
        ["--shape sphere --diameter 2 --thickness 1 --material copper --frequency 5"]="a sphere takes no --thickness"
        ["--shape ring --diameter 2 --thickness 1 --bore 2 --material copper --frequency 5"]="the bore is as wide as the ring"
        ["--shape sphere --diameter 2 --material coper --frequency 5"]="did you mean 'copper'?"
        ["--shape sphere --diameter 2 --frequency 5"]="give --material or --conductivity, one of them"
        ["--shape sphere --diameter 2 --material copper"]="--frequency is missing"
        ["--shape disc --diameter 20 --thickness 1 --material steel --frequency 5"]="only a sphere is computed when magnetic"
        ["--shape disc --diameter 0 --thickness 1 --material copper --frequency 5"]="--diameter: found '0', accepted 0.01 to 2000 mm"
    )
    for words in "${!wrong[@]}"; do
        # shellcheck disable=SC2086
        run -2 --separate-stderr "$BRINEBAND" body $words
        [[ "$stderr" == *"${wrong[$words]}"* ]] || { echo "$words: $stderr"; false; }
        [ -z "$output" ]
    done
}
