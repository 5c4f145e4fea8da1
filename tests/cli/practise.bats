# What practise asks, answers and draws; the same seed gives the same rounds.

bats_require_minimum_version 1.5.0
load small_beach

setup() {
    cd "$BATS_TEST_TMPDIR"
    export LC_ALL=C.UTF-8
    fit_small_beach v
}

@test "practise: a round is shown, asked, told and counted, from standard input" {
    run -0 --separate-stderr "$BRINEBAND" practise v --seed 1 <<<$'d\nleave\nwhat\nyes\nq'
    [[ "$output" == *"1 of 10. wet sand reads: "* ]]
    [ "$(grep -c "It was " <<<"$output")" -eq 3 ]
    [[ "$output" == *"Something to"*"judge says"*"of 1 right."* ]]
    [[ "$output" == *"3 rounds: "* && "$output" == *"--seed 1 gives the same"* ]]
    [[ "$stderr" == *"found 'what', accepted dig, leave or quit"* ]]
    while IFS= read -r line; do [ "${#line}" -le 80 ]; done <<<"$output"
}

@test "practise: the same seed gives the same rounds, another others" {
    yes d | "$BRINEBAND" practise v --only-kit --rounds 20 --seed 7 --json >one
    yes d | "$BRINEBAND" practise v --only-kit --rounds 20 --seed 7 --json >two
    yes d | "$BRINEBAND" practise v --only-kit --rounds 20 --seed 8 --json >three
    cmp one two
    run ! cmp -s one three
    jq -e '(.rounds | length) == 20 and .seed == 7 and .zone == "wet"' one
    jq -e '.score.left_keep == 0 and .score.dug_keep + .score.dug_other == 20' one
    jq -e '([.rounds[] | select(.keep)] | length) == .score.dug_keep' one
}

@test "practise: the end of the answers ends it, with no answer nothing is scored" {
    run -0 "$BRINEBAND" practise v --seed 1 </dev/null
    [[ "$output" == *"No round was played."* ]]
    run -0 "$BRINEBAND" practise v --seed 1 <<<"l"
    [[ "$output" == *"1 round: "* ]]
}

@test "practise: --sheet draws the lesson with its answers" {
    run -0 "$BRINEBAND" practise v --zone damp --seed 3 --sheet lesson.pdf
    [[ "$output" == *"lesson.pdf is ready"* ]]
    [ "$(pdfinfo lesson.pdf | grep -c 'Pages: *1$')" -eq 1 ]
    pdftotext lesson.pdf lesson.txt
    grep -q "Guess, sweep, see" lesson.txt
    grep -q "stud" lesson.txt
    run -2 "$BRINEBAND" practise v --sheet lesson.doc
}

@test "practise: a wrong zone, number or profile" {
    run -2 "$BRINEBAND" practise v --zone wte
    [[ "$output" == *"did you mean 'wet'?"* ]]
    run -2 "$BRINEBAND" practise v --rounds 0
    run -2 "$BRINEBAND" practise v --readings 33
    run -3 "$BRINEBAND" practise v/beach.ini
}

@test "practise: long, empty and blank answers are asked again, spaces behind one are not" {
    printf 'a much longer answer than any that is wanted here\n\n  \nd \r\nl\t' >answers
    run -0 --separate-stderr "$BRINEBAND" practise v --only-kit --rounds 2 --seed 3 <answers
    [ "$(grep -c "accepted dig, leave or quit" <<<"$stderr")" -eq 3 ]
    [[ "$output" == *"2 rounds: "* ]]
    run -0 "$BRINEBAND" practise v --only-kit --rounds 2 --seed 3 --sheet lesson.svg --json
    jq -e '.file == "lesson.svg" and .seed == 3' <<<"$output"
}
