# Every screen of every command, on the demo visit: one voice.

bats_require_minimum_version 1.5.0

setup_file() {
    export LC_ALL=C.UTF-8
    cp -r "$BATS_TEST_DIRNAME/../../cli/demo/skarra-strand" "$BATS_FILE_TMPDIR/v"
    cd "$BATS_FILE_TMPDIR"
    printf 'zone,target,depth_cm,reading,times,heard,setting\nwet,sand,,,40,no,17-21\nwet,sand,,18 19,,,\nwet,stud,0,33,,,\n' >fresh.csv
    printf 'zone,reading,found,where\nwet,35,thin ring,the cut\nwet,23,foil,\n' >digs.csv
    mkdir screens
    screen() { # NAME WORDS...: what the command says
        local name=$1
        shift
        "$BRINEBAND" "$@" >"screens/$name" 2>"problems_$name" || [ $? -eq 4 ]
    }
    screen start
    screen help help
    screen version --version
    screen new new n
    screen unswept n
    screen unfitted v
    screen fit_nothing fit n
    screen fit fit v
    screen overview v
    screen fit_verbose fit v --verbose
    cp v/profile.json one.json
    sed -i 's/17 18 19 18 18/17 18 20 18 18/; s/2026-05-09/2026-05-23/' v/sweeps.csv v/beach.ini
    "$BRINEBAND" fit v >/dev/null
    screen predict predict v
    screen predict_one predict v --target stud --depth 5
    screen what_if predict v --target stud --depth 5 --height 3 --frequency 10 --dry-layer 5
    screen reject reject v
    screen reject_own reject v --bands 15-24
    screen reject_short reject v --quiet 0.999 --max-loss 0.0001 --with-catalogue
    screen check check v fresh.csv
    screen check_loud check v v/sweeps.csv --bands 40-42
    screen judge judge v 27 --zone wet
    screen judge_more judge v 3 --repeat 2 --repeat 3 --zone wet --iron-sound
    screen digs digs v digs.csv
    screen merge merge one.json v/profile.json -o club.json
    screen merge_verbose merge one.json v/profile.json -o club2.json --verbose
    screen reject_club reject club.json
    screen history history one.json v club.json
    screen plan plan v
    screen plan_new plan n --minutes 15
    screen practise practise v --rounds 5 --seed 3 <<<"$(printf "d\nl\nd\nl\nd\n")"
    screen card card v -o card.pdf
    screen phone card v -o phone.png --phone
    screen sand sand --salinity 35 --temperature 15 --frequency 7 --coil-diameter 28 --height 5
    screen body body --shape ring --diameter 20 --bore 17 --thickness 4 --material 'gold 18ct' --frequency 7
    screen sphere body --shape sphere --diameter 12 --material lead --frequency 7
    for name in $("$BRINEBAND" help | awk '/^  [a-z]+ / && $1 != "help" { print $1 }'); do
        screen "help_$name" help "$name"
    done
}

setup() {
    cd "$BATS_FILE_TMPDIR/screens"
}

none_match() { # REGEXP: no line of any screen does
    run grep -nEr -- "$1" .
    [ -z "$output" ] || { echo "$output"; false; }
}

@test "every command has its screen here" {
    for name in $("$BRINEBAND" help | awk '/^  [a-z]+ / && $1 != "help" { print $1 }'); do
        [ -s "$name" ] || { echo "$name"; false; }
    done
}

@test "no line is wider than 80 columns, or ends with a blank" {
    run jq -rR 'select(length > 80) | input_filename + ": " + .' *
    [ -z "$output" ] || { echo "$output"; false; }
    run grep -nE ' $' * # but for the question that waits for its answer
    [ -z "$(grep -v 'dig, leave or quit? $' <<<"$output")" ] || { echo "$output"; false; }
}

@test "one is singular, more are plural" {
    none_match '(^|[^0-9.,-])1 (sweeps|pieces|visits|numbers|minutes|hours|degrees|zones|holes|bands|times|pumps|rows|more times|readings|false sounds)'
    none_match '(^| )([02-9]|[1-9][0-9]+) (sweep|piece|visit|number|minute|hour|degree|zone|hole|band|pump|row|reading|false sound)([^a-z]|$)'
}

@test "no number with an exponent, nothing that is not a number, no jargon" {
    run grep -nE '[0-9]e[+-]?[0-9]' $(ls | grep -vx fit_verbose)
    [ -z "$output" ] || { echo "$output"; false; }
    none_match '(^|[^a-z])-?(nan|inf|null|\(null\))([^a-z]|$)'
    run grep -nErw 'posterior|covariance|likelihood|Hessian|Jacobian|masked' --exclude=fit_verbose --exclude='help_*' .
    [ -z "$output" ] || { echo "$output"; false; }
}

@test "the answer comes first, cautions last" {
    for screen in *; do
        [ -n "$(head -n 1 "$screen")" ] || { echo "$screen"; false; }
        ! head -n 1 "$screen" | grep -qE '^ *(Tide|Ordnance)' || { echo "$screen"; false; }
    done
}

@test "a problem is wrapped for a person and one line for a program" {
    script -qec true /dev/null &>/dev/null || skip "no terminals here"
    cd ..
    run --separate-stderr "$BRINEBAND" fit n
    [ "${#stderr_lines[@]}" -eq 1 ]
    script -qec "\"$BRINEBAND\" fit n" /dev/null </dev/null | tr -d '\r' >typed
    grep -q 'no bare sand and no target in air' typed
    run jq -rR 'select(length > 80)' typed
    [ -z "$output" ] || { echo "$output"; false; }
}

@test "bold only on a terminal, and not where NO_COLOR is set" {
    script -qec true /dev/null &>/dev/null || skip "no terminals here"
    cd ..
    TERM=xterm script -qec "\"$BRINEBAND\" v" /dev/null </dev/null >with
    NO_COLOR=1 TERM=xterm script -qec "\"$BRINEBAND\" v" /dev/null </dev/null >without
    grep -q $'\033' with
    ! grep -q $'\033' without
    ! grep -rq $'\033' screens
}

@test "without UTF-8 all words are ASCII" {
    cd ..
    for words in "fit v" "reject v" "check v fresh.csv" "judge v 27 --zone wet" "plan v" "history v" "predict v"; do
        run grep -nP '[^\x00-\x7f]' <(LC_ALL=C "$BRINEBAND" $words)
        [ -z "$output" ] || { echo "$words: $output"; false; }
    done
}

@test "names that are not known are answered with the nearest" {
    cd ..
    run "$BRINEBAND" rejct v
    [[ "$status" -eq 2 && "$output" == *"did you mean 'reject'?"* ]]
    run "$BRINEBAND" help crad
    [[ "$status" -eq 2 && "$output" == *"did you mean 'card'?"* ]]
    run "$BRINEBAND" predict v --target studd
    [[ "$status" -eq 2 && "$output" == *"stud"* ]]
    run "$BRINEBAND" predict v --zone wett
    [[ "$status" -eq 2 && "$output" == *"wet"* ]]
    run "$BRINEBAND" reject v --quite 0.9
    [[ "$status" -eq 2 && "$output" == *"did you mean --quiet?"* ]]
    run "$BRINEBAND" body --shape disk --diameter 20 --thickness 1 --material coper --frequency 7
    [[ "$status" -eq 2 && "$output" == *"disc"* ]]
    run "$BRINEBAND" body --shape disc --diameter 20 --thickness 1 --material coper --frequency 7
    [[ "$status" -eq 2 && "$output" == *"copper"* ]]
}

@test "what stumbled: the message says what is wrong and what there is" {
    cd ..
    run "$BRINEBAND" judge v 27
    [[ "$status" -eq 2 && "$output" == *"--zone is missing"*"zones here: wet, damp" ]]
    run "$BRINEBAND" predict v --target xyzzyxyzzy
    [[ "$status" -eq 2 && "$output" == *"it knows stud, thin ring, wide ring, silver coin, grey coin, foil,"* ]]
    run "$BRINEBAND" card v card.pdf
    [[ "$status" -eq 2 && "$output" == *"'card.pdf' is one word too many; usage: brineband card PROFILE -o FILE"* ]]
    run "$BRINEBAND" check v
    [[ "$status" -eq 2 && "$output" == *"SWEEPS.csv is missing; usage: brineband check PROFILE SWEEPS.csv"* ]]
    run "$BRINEBAND" judge v
    [[ "$status" -eq 2 && "$output" == *"judge: NUMBER is missing; usage: "* ]]
    run "$BRINEBAND" fit nowhere
    [[ "$status" -eq 5 && "$output" == *"nowhere: no such folder; 'brineband new nowhere' makes a visit's files" ]]
    run "$BRINEBAND" reject v --bands 17-
    [[ "$status" -eq 2 && "$output" == *"or bands such as 12-15,33-34, 40 or -9 to -4" ]]
    for bands in 17 17-17 17–17 "17 to 17"; do
        run "$BRINEBAND" reject v --bands "$bands"
        [ "$status" -eq 0 ]
    done
}

@test "today's folder will do for its sweeps" {
    cd ..
    "$BRINEBAND" check one.json v >by_folder
    "$BRINEBAND" check one.json v/sweeps.csv | diff - by_folder
}

@test "check counts what a setting silences over sand, and no sweep in air" {
    cd ..
    printf 'zone,target,depth_cm,reading\nair,stud,10,18 19 35\nwet,stud,0,18 35\n' >air.csv
    "$BRINEBAND" check v air.csv --bands 17-21 --json >air.json
    jq -e '[.targets[] | select(.swept > 0) | [.swept, .silenced]] == [[2, 1]]' air.json
}

@test "an empty folder, a path with a space, and a number without its unit" {
    cd ..
    mkdir "an empty one"
    run "$BRINEBAND" fit "an empty one"
    [[ "$status" -eq 5 && "$output" == *"an empty one: no beach.ini in it; 'brineband new \"an empty one\"' makes a visit's files" ]]
    cp -r v "my beach"
    [[ "$("$BRINEBAND" fit "my beach" | tr '\n' ' ')" == *"'brineband reject \"my beach\"' says which numbers to reject."* ]]
    run "$BRINEBAND" body --shape disc --diameter 20 --thickness 1.5 --conductivity 9.3 --frequency 10
    [[ "$status" -eq 2 && "$output" == *"found '9.3', accepted with its unit 1 to 1e+09 S/m (or mS/m, mS/cm, MS/m)" ]]
}

@test "sand that sounded without a number noted is not said to read one" {
    cd ..
    cp -r v unnoted
    sed -i 's/^damp,sand.*/damp,sand,,,,15,yes/' unnoted/sweeps.csv
    said=$("$BRINEBAND" fit unnoted | tr '\n' ' ')
    [[ "$said" == *"Sand in zone damp sounded in 15 of 15 bare sweeps, but no number was noted; by physics about "* ]]
    [[ "$said" == *"Pump bare sand in zone damp again and note each number that it shows."* ]]
}

@test "after a slip of the pen the first thing to do is to look at its line" {
    cd ..
    cp -r v slip
    sed -i '0,/^air,stud,10,,35 35/s//air,stud,10,,35 53/' slip/sweeps.csv
    [[ "$("$BRINEBAND" fit slip | tr '\n' ' ')" == *"First look at sweeps.csv line 4: mend a slip and fit again, "* ]]
}

@test "a narrow terminal gets narrow lines" {
    cd ..
    script -qec "stty cols 40; $BRINEBAND v" /dev/null | tr -d '\r' | sed 's/\x1b\[[0-9]*m//g' >narrow
    grep -q "^Reject 17-21" narrow
    [ "$(awk '{ if (length > most) most = length } END { print most }' narrow)" -le 40 ]
    [ "$("$BRINEBAND" v | awk '{ if (length > most) most = length } END { print (most > 40) }')" = 1 ]
}

@test "sweeps with the setting dialled in do not try the profile, said or not" {
    cd ..
    printf 'zone,target,depth_cm,reading,times,heard\nwet,sand,,,19,no\nwet,sand,,22,,\nwet,stud,0,33,,\nwet,stud,0,32,,\n' >dialled.csv
    "$BRINEBAND" check v dialled.csv --bands 17-21 --json | jq -e '.dialled_in and .profile_holds == null'
    [[ "$("$BRINEBAND" check v dialled.csv --bands 17-21 | tr '\n' ' ')" == *"These read as swept with 17-21 dialled in: "* ]]
    sed 's/^wet,sand,,22/wet,sand,,20/' dialled.csv >open.csv # a number inside it: nothing was rejected
    "$BRINEBAND" check v open.csv --bands 17-21 --json | jq -e '(.dialled_in | not) and .profile_holds != null'
}
