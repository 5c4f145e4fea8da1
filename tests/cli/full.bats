# A full visit whose truth is known: tests/data/full, made by tests/simulate.

setup() {
    data=$BATS_TEST_DIRNAME/../data/full
    cp -r "$data" "$BATS_TEST_TMPDIR/full"
    cd "$BATS_TEST_TMPDIR"
}

@test "what a fit predicts lies within its doubt of the truth" {
    "$BRINEBAND" fit full >/dev/null
    "$BRINEBAND" predict full --json --depth 0 --depth 5 --depth 10 --depth 15 >predicted.json
    # in standard deviations of the prediction: all places and the bare sand, the farthest off, the mean square
    jq -r --slurpfile truth full/truth.json '
        [.predictions[] as $p | $truth[0].numbers[]
         | select(.zone == $p.zone and .target == $p.target and .depth_cm == $p.depth_cm)
         | ($p.mean - .mean) / $p.sd]
        | "\(length) \(map(fabs) | max < 3) \(map(. * .) | add / length < 1)"' predicted.json >found
    [ "$(cat found)" = "74 true true" ]
}

@test "its rows in another order give the same answer" {
    "$BRINEBAND" fit full --json | jq 'del(.. | .line?)' >before
    cp full/sweeps.csv rows
    { grep -v '^\(air\|wet\|damp\),' rows; grep '^\(air\|wet\|damp\),' rows | tac; } >full/sweeps.csv
    "$BRINEBAND" fit full --json | jq 'del(.. | .line?)' >after
    cmp before after
}

@test "how fast metal corrodes there holds the truth, and is said" {
    "$BRINEBAND" fit full >said
    grep -E "^Metal corrodes here at [0-9.]+ times the tables' rate" said
    jq -r .severity full/truth.json | tr '\n' ' ' | cat - said |
        awk 'NR == 1 {truth = $1} match($0, /nine in ten: [0-9.]+ to [0-9.]+\)\.$/) && /corrodes/ {
                 split(substr($0, RSTART + 13), limit, / to /)
                 exit !(limit[1] + 0 < truth && truth < limit[2] + 0)}'
}
