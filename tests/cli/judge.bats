# What judge answers, its keys, and when it advises what.

bats_require_minimum_version 1.5.0
load small_beach

setup() {
    cd "$BATS_TEST_TMPDIR"
    export LC_ALL=C.UTF-8
    fit_small_beach v
}

@test "judge: the keys that other programs rely on; probabilities sum to one" {
    "$BRINEBAND" judge v 38 --zone wet --repeat 37 --json >out
    jq -e '.number == 38 and .zone == "wet" and .repeats == [37]' out
    jq -e '[.classes[].probability] | add | . > 0.999999999 and . < 1.000000001' out
    jq -e '[.classes[] | .low <= .probability and .probability <= .high] | all' out
    jq -e '[.classes[].group] | index("bare sand") != null and index("small gold") != null' out
    jq -e '[.classes[].base_rate] | (max - min) < 1e-12' out
    jq -e '.advice == "dig" and .base_rates == "even"' out
}

@test "judge: small gold and foil are named together" {
    run -0 "$BRINEBAND" judge v 30 --zone wet
    [[ "$output" == *"mall gold or foil"*"No number parts the two."* ]]
    jq -e '.small_gold_or_foil.probability as $t
           | ([.classes[] | select(.group == "foil" or .group == "small gold").probability] | add)
           - $t | fabs < 1e-9' <("$BRINEBAND" judge v 30 --zone wet --json)
}

@test "judge: a number of the sand is called that first" {
    run -0 "$BRINEBAND" judge v 23 --zone wet
    [[ "${lines[0]}" == "23 in wet sand: most likely the sand itself, "* ]]
    run -0 "$BRINEBAND" judge v 38 --zone wet
    [[ "${lines[0]}" == "38 in wet sand: dig."* ]]
}

@test "judge: sand that never sounded is said to be less likely" {
    awk '/^damp,sand/ { print "damp,sand,,,15,no"; next } { print $0 (NR == 1 ? ",times,heard" : ",,") }' \
        v/sweeps.csv >rows
    mv rows v/sweeps.csv
    "$BRINEBAND" fit v >/dev/null
    run -0 "$BRINEBAND" judge v 22 --zone damp
    [[ $(tr -s '\n ' ' ' <<<"$output") == *"None of 15 bare sweeps sounded here: sand is less likely"* ]]
    run -0 "$BRINEBAND" judge v 22 --zone wet
    [[ "$output" != *"sounded here"* ]]
}

@test "judge: likely not only for two readings of iron; a worn plated coin forbids it" {
    advice() { "$BRINEBAND" judge v "$@" --zone wet --json | jq -r .advice; }
    [ "$(advice 4 --repeat 3 --only-kit)" = "likely not" ]
    [ "$(advice 4 --only-kit)" = "worth a dig" ]
    [ "$(advice 4 --repeat 3)" = "worth a dig" ]
    [ "$(advice 4 --repeat 38 --only-kit)" = "worth a dig" ]
    [ "$(advice 23 --repeat 23 --iron-sound --only-kit)" = "worth a dig" ]
}

@test "judge: iron carries the ordnance caution" {
    run -0 "$BRINEBAND" judge v 4 --zone wet
    [[ "$output" == *"Ordnance"*"leave it alone"* ]]
    run -0 "$BRINEBAND" judge v 67 --zone wet --repeat 67 --only-kit
    [[ "$output" != *"Ordnance"* ]]
    run -0 "$BRINEBAND" judge v 67 --zone wet --iron-sound
    [[ "$output" == *"Ordnance"* ]]
}

@test "judge: a strange number and readings of two things are said to be" {
    run -0 "$BRINEBAND" judge v 52 --zone wet --only-kit --depth 0
    [[ "${lines[0]}" == "52 in wet sand: a strange number, "* ]]
    run -0 "$BRINEBAND" judge v 4 --repeat 67 --zone wet --only-kit
    [[ "$output" == *"hardly belong to one thing"* ]]
}

@test "judge: what lies too deep to hear is left out and named" {
    run -0 "$BRINEBAND" judge v 67 --zone wet --only-kit --depth 30
    [[ "$output" == *"Not among them: small gold. Too deep to hear through the salt."* ]]
}

@test "judge: the answer comes first and fits a screen" {
    run -0 "$BRINEBAND" judge v 38 --zone wet
    [[ "${lines[0]}" == "38 in wet sand: dig."* ]]
    [ "${#lines[@]}" -le 24 ]
    while IFS= read -r line; do [ "${#line}" -le 80 ]; done <<<"$output"
}

@test "judge: a wrong number, zone or profile" {
    run -2 "$BRINEBAND" judge v 81 --zone wet
    [[ "$output" == *"found '81', accepted 0 to 80 in steps of 1"* ]]
    run -2 "$BRINEBAND" judge v 2.5 --zone wet
    run -2 "$BRINEBAND" judge v -3 --zone wet
    [[ "$output" == *"found '-3'"* ]]
    run -2 "$BRINEBAND" judge v 30 --zone wte
    [[ "$output" == *"did you mean 'wet'?"* ]]
    run -2 "$BRINEBAND" judge v 30 --zone air
    run -2 "$BRINEBAND" judge v 30
    [[ "$output" == *"--zone is missing"* ]]
    run -3 "$BRINEBAND" judge v/beach.ini 30 --zone wet
}

@test "judge: iron beyond doubt is said first; thirty-two readings are enough" {
    run -0 "$BRINEBAND" judge v 4 --repeat 3 --zone wet --only-kit
    [[ "${lines[0]}" == "4 in wet sand: likely not. Every reading is iron: "* ]]
    mapfile -t more < <(for ((i = 1; i < 32; i++)); do printf '%s\n' --repeat 22; done)
    run -0 "$BRINEBAND" judge v 22 --zone wet --only-kit "${more[@]}"
    run -2 "$BRINEBAND" judge v 22 --zone wet --only-kit "${more[@]}" --repeat 22
    [[ "$output" == *"at most 32 readings of one target" ]]
}
