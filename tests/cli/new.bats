# The folder that new makes.

setup() {
    cd "$BATS_TEST_TMPDIR"
    export LC_ALL=C.UTF-8
}

@test "a fresh folder is valid input, and tells the first sweep to make" {
    run "$BRINEBAND" new v
    [ "$status" -eq 0 ]
    [ "$(ls v)" = "$(printf 'beach.ini\nkit.csv\nsheet.txt\nsweeps.csv')" ]
    run "$BRINEBAND" v
    [ "$status" -eq 0 ]
    [[ "$output" == *"Sweep bare sand in zone wet: 15 pumps"* ]]
    [ "$("$BRINEBAND" v --json | jq '.targets > 3 and .sweeps == 0')" = true ]
}

@test "every example and every ready row is valid as it stands" {
    "$BRINEBAND" new v
    sed -i 's/^#\([^ ]\)/\1/' v/kit.csv
    sed -n 's/^#.*  \([a-z]*,.*\)$/\1/p' v/sweeps.csv >examples
    [ "$(wc -l <examples)" -eq 7 ]
    cat examples >>v/sweeps.csv
    run "$BRINEBAND" v --json
    [ "$status" -eq 0 ]
    [ "$(jq '.targets > 30 and .sweeps == 36' <<<"$output")" = true ]
}

@test "nothing is ever overwritten" {
    mkdir v
    echo mine >v/sweeps.csv
    run "$BRINEBAND" new v
    [ "$status" -eq 5 ]
    [ "$(cat v/sweeps.csv)" = mine ]
    [ "$(ls v)" = sweeps.csv ]
}

@test "the sheet says how to sweep in ten lines and ends with the cautions" {
    "$BRINEBAND" new v
    [ "$(grep -c '^ *[0-9]*\. ' v/sheet.txt)" -eq 10 ]
    for word in Rinse height "pace apart" flat mark string "Count the pieces" "tide table" ammunition; do
        grep -q "$word" v/sheet.txt
    done
    run awk 'length($0) > 84' v/sheet.txt v/beach.ini v/sweeps.csv
    [ -z "$output" ]
}

@test "cautions are shown, and --json lists the files" {
    run "$BRINEBAND" new v
    [[ "$output" == *"Never turn"* ]]
    [ "$("$BRINEBAND" new w --json | jq -c .files)" = '["beach.ini","kit.csv","sweeps.csv","sheet.txt"]' ]
}
