#!/usr/bin/env bats
# brineband sand: keys, words, and what it refuses.

bats_require_minimum_version 1.5.0
coil=(--frequency 15 --coil-diameter 28 --height 5)
sea=(--salinity 35 --temperature 15)

@test "sand: the JSON keys that other programs rely on, with the published values" {
    run -0 "$BRINEBAND" sand "${sea[@]}" "${coil[@]}" --json
    echo "$output" | python3 -c '
import json, sys
found = json.load(sys.stdin)
assert abs(found["water_S_per_m"] - 4.29175399) < 1e-8  # reference/seawater_conductivity.csv
assert abs(found["sand_S_per_m"] - 1.085737) < 1e-6     # reference/sand_conductivity.csv
assert sorted(found["ground"]) == ["R", "X", "angle_deg", "strength"]
'
}

@test "sand: the sand's own conductivity, in any unit, answers as the reference integral" {
    for text in 1S/m 10mS/cm 0.000001MS/m 1000mS/m; do
        run -0 "$BRINEBAND" sand --conductivity "$text" "${coil[@]}" --json
        echo "$output" | python3 -c '
import json, sys
found = json.load(sys.stdin)
assert found["water_S_per_m"] is None
assert abs(found["ground"]["X"] / 1.4878697183e-5 - 1) < 1e-8  # reference/ground_response.csv
assert abs(found["ground"]["R"] / 3.9624670726e-4 - 1) < 1e-8
'
    done
}

@test "sand: the words give the answer first" {
    run -0 "$BRINEBAND" sand "${sea[@]}" "${coil[@]}"
    [ "${lines[0]}" = "This sand conducts 1.09 S/m, 25 % of the 4.29 S/m of its water." ]
    [[ "$output" == *"almost purely as a resistor"*"2"*"degrees"* ]]
    while IFS= read -r line; do [ "${#line}" -le 80 ]; done <<<"$output"
}

@test "sand: black sand reads as partly magnetic" {
    run -0 "$BRINEBAND" sand "${sea[@]}" "${coil[@]}" --susceptibility 0.002
    [[ "$output" == *"partly as a magnetic material"* ]]
}

@test "sand: nothing that conducts answers nothing" {
    run -0 "$BRINEBAND" sand --conductivity 0S/m "${coil[@]}"
    [[ "$output" == *"answers nothing"* ]]
}

@test "sand: a dry layer weakens the answer as height does" {
    run -0 "$BRINEBAND" sand --conductivity 1S/m "${coil[@]}" --dry-layer 10 --json
    layered=$output
    run -0 "$BRINEBAND" sand --conductivity 1S/m --frequency 15 --coil-diameter 28 --height 15 --json
    python3 - "$layered" "$output" <<'END'
import json, sys
layered, higher = (json.loads(text)["ground"] for text in sys.argv[1:])
assert abs(layered["R"] / higher["R"] - 1) < 1e-12
END
}

@test "sand: says what is missing or cannot be" {
    run -2 "$BRINEBAND" sand --salinity 35 "${coil[@]}"
    [[ "$output" == *"--temperature is missing"* ]]
    run -2 "$BRINEBAND" sand "${sea[@]}" --frequency 15 --height 5
    [[ "$output" == *"--coil-diameter is missing"* ]]
    run -2 "$BRINEBAND" sand --conductivity 1.1 "${coil[@]}"
    [[ "$output" == *"found '1.1', accepted"*"S/m"* ]]
    run -2 "$BRINEBAND" sand --conductivity 1S/m --porosity 0.4 "${coil[@]}"
    [[ "$output" == *"--porosity cannot go with it"* ]]
    run -2 "$BRINEBAND" sand --salinity 43 --temperature 15 "${coil[@]}"
    [[ "$output" == *"--salinity: found '43', accepted 0 to 42"* ]]
}

@test "sand: what hardly conducts is told in thousandths" {
    run "$BRINEBAND" sand --salinity 0.02 --temperature 13 --frequency 7 --coil-diameter 28 --height 5
    [ "$status" -eq 0 ]
    [[ "${lines[0]}" == "This sand conducts 0."*" mS/m, "*" mS/m of its water." ]]
    run "$BRINEBAND" sand --conductivity "20 mS/m" --frequency 7 --coil-diameter 28 --height 5
    [ "$status" -eq 0 ]
    [ "${lines[0]}" = "This sand conducts 0.02 S/m." ]
}
