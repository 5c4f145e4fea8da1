# A club's profiles together, and what may be known of them by strangers.

setup_file() {
    cd "$BATS_FILE_TMPDIR"
    export LC_ALL=C.UTF-8
    for day in 1 2 3; do
        mkdir "v$day"
        cat >"v$day/beach.ini" <<END
[machine]
name = Harbour set
settings = quick
scale_low = 0
scale_high = 80
frequency_khz = 7
coil_diameter_cm = 28
[beach]
name = Skarra Strand
date = 2026-05-0$day
low_water = 14:10
water = sea
[zone wet]
wetness = wet
END
        cat >"v$day/kit.csv" <<'END'
target,shape,material,diameter_mm,group
stud,sphere,gold 14ct,4,small gold
bead,sphere,gold 9ct,8,gold
ball,sphere,sterling silver,16,junk
END
        cat >"v$day/sweeps.csv" <<END
zone,target,depth_cm,reading,note
air,stud,5,14 14 15,by the secret pier
air,bead,10,38 38 39,
air,ball,10,67 68 6$((day + 5)),
wet,sand,,23 22 24 23 23 24 22 21 22 23 24 24 23 22 2$day,
wet,bead,0,38 37 3$((day + 5)),
wet,ball,5,66 67,
END
        "$BRINEBAND" fit "v$day" >/dev/null
    done
}

setup() {
    cd "$BATS_FILE_TMPDIR"
    export LC_ALL=C.UTF-8
}

@test "pools visits, counts the same one once, and says what to do next" {
    cp v1/profile.json again.json
    run "$BRINEBAND" merge v1 v2 v3 again.json -o club.json
    [ "$status" -eq 0 ]
    [ "${lines[0]}" = "Pooled 3 visits into club.json." ]
    [[ "$output" == *"again.json, the same sweeps"* ]]
    [[ "$output" == *"Next: "* ]]
    jq -e '.data.pooled_visits == 3 and .data.digest == null' club.json
}

@test "the order of files changes nothing beyond rounding" {
    "$BRINEBAND" merge v1 v2 v3 -o one.json >/dev/null
    "$BRINEBAND" merge v3 v1 v2 -o other.json >/dev/null
    jq -e -n --slurpfile a one.json --slurpfile b other.json \
        '[range($a[0].parameters | length) | ($a[0].parameters[.].estimate
          - $b[0].parameters[.].estimate) | fabs] | max < 1e-9'
}

@test "no place, time of day or remark is in a club's file, and no machine when anonymous" {
    "$BRINEBAND" merge v1 v2 v3 -o club.json >/dev/null
    run grep -c -i -e skarra -e 14:10 -e pier club.json
    [ "$output" = 0 ]
    "$BRINEBAND" merge v1 v2 v3 --anonymous -o club.json >/dev/null
    run grep -c -i -e skarra -e harbour -e 2026-05- club.json
    [ "$output" = 0 ]
    jq -e '.beach.date == "2026-05"' club.json
    for day in 1 2; do
        mkdir -p "p$day" && cp "v$day"/*.csv "v$day"/*.ini "p$day"
        "$BRINEBAND" fit "p$day" --with-place >/dev/null
    done
    "$BRINEBAND" merge p1 p2 -o club.json >/dev/null
    run grep -c Skarra club.json
    [ "$output" = 0 ]
    "$BRINEBAND" merge p1 p2 --with-place -o club.json >/dev/null
    grep -q "Skarra Strand" club.json
}

@test "another machine stops the merge and the field is named" {
    mkdir -p w && cp v2/*.csv w/ && sed 's/= quick/= slow/' v2/beach.ini >w/beach.ini
    "$BRINEBAND" fit w >/dev/null
    run "$BRINEBAND" merge v1 w -o no.json
    [ "$status" -eq 3 ]
    [[ "$output" == *"w: "*"settings differs"* ]]
    [ ! -e no.json ]
}

@test "a piece by a name already taken stops the merge" {
    mkdir -p x && cp v2/beach.ini v2/sweeps.csv x/ && sed 's/9ct,8/9ct,9/' v2/kit.csv >x/kit.csv
    "$BRINEBAND" fit x >/dev/null
    run "$BRINEBAND" merge v1 x -o no.json
    [ "$status" -eq 3 ]
    [[ "$output" == *'"bead"'*"diameter_mm differs"* ]]
}

@test "agreement is said in a word and a forest plot, with a name for who pulls, Q and I2 on asking" {
    run "$BRINEBAND" merge v1 v2 v3 -o club.json
    [[ "$output" == *"next visit"*"they"*"agree"* && "$output" != *"Q/df"* ]]
    [[ "$output" == *"wet sand: angle off, deg"*"v1 "*"--o--"*" %"*"club "*"--#--"* ]]
    [ "$(echo "$output" | awk 'length > 80' | wc -l)" -eq 0 ]
    run "$BRINEBAND" merge v1 v2 v3 -o club.json --verbose
    [[ "$output" == *"next visit"*"Q/df"*"I2"* ]]
    "$BRINEBAND" merge v1 v2 v3 --method dl -o club.json --json |
        jq -e '.quantities | map(select(.visits > 1 and .q <= .visits - 1)) | length > 0 and all(.tau2 == 0)'
}

@test "one visit that carries a quantity alone is named" {
    mkdir -p many && cp v2/*.ini v2/*.csv many/
    sed -i -e '1s/$/,times/' -e '2,$s/$/,1/' -e '/sand/s/,1$/,300/' many/sweeps.csv
    "$BRINEBAND" fit many >/dev/null
    run "$BRINEBAND" merge v1 many v3 -o club.json
    [[ "$(echo $output)" == *"many carries "*" % of the "* ]]
}

@test "a club's setting comes with the range between visits, and no proof" {
    "$BRINEBAND" merge v1 v2 v3 -o club.json >/dev/null
    "$BRINEBAND" reject club.json --json |
        jq -e '.verdict == "unproved" and (.zones | all(.next_visit_low < .next_visit_high))'
    run "$BRINEBAND" reject club.json
    [ "$status" -eq 0 ]
    [[ "${lines[0]}" == "Start with "*"not proved on your sand." ]]
    [[ "$(echo $output)" == *"From visit to visit the middle of the sand's numbers lies"* ]]
    run "$BRINEBAND" card club.json -o card.svg
    [ "$status" -eq 0 ]
    [[ "$(echo $output)" == *"not yet proved on your sand"* ]]
    "$BRINEBAND" reject v1 --json | jq -e '.zones | all(.next_visit_low == null)'
}

@test "over machines only the beach is pooled, which is a prior and no more" {
    mkdir -p o && cp v2/*.csv o/ &&
        sed -e 's/= quick/= slow/' -e 's/_cm = 28/_cm = 20/' v2/beach.ini >o/beach.ini
    "$BRINEBAND" fit o >/dev/null
    run "$BRINEBAND" merge v1 o --any-machine -o beach.json
    [ "$status" -eq 0 ]
    for words in reject predict history "judge 23 --zone wet"; do
        set -- $words
        command=$1 && shift
        run "$BRINEBAND" "$command" beach.json "$@"
        [ "$status" -eq 4 ]
        [[ "$(echo $output)" == *"no machine"*"--prior"* ]]
    done
    "$BRINEBAND" fit v3 --prior beach.json >/dev/null
    "$BRINEBAND" fit v3 >/dev/null
}

@test "a club's profile is a prior that is not pooled again" {
    "$BRINEBAND" merge v1 v2 -o club.json >/dev/null
    run "$BRINEBAND" fit v3 --prior club.json
    [ "$status" -eq 0 ]
    [[ "$output" == *"From the earlier profile: "* ]]
    run "$BRINEBAND" merge v1 v3 club.json -o no.json
    [[ "$output" == *"v3, fitted from another profile"* ]]
    [[ "$output" == *"club.json, a club's profile already"* ]]
    "$BRINEBAND" fit v3 >/dev/null
}

@test "a fit says what came from the club, what from today, and what contradicts it" {
    "$BRINEBAND" merge v1 v2 -o club.json >/dev/null
    run "$BRINEBAND" fit v3 --prior club.json
    [[ "$(echo $output)" == *"From the earlier profile: "*"today's sweeps sharpened the other "* ]]
    [[ "$(echo $output)" == *"From the earlier profile or assumed, not learned today: "* ]]
    [[ "$output" != *"Today contradicts it"* ]]
    mkdir -p turned && cp v3/*.csv v3/*.ini turned/
    sed -i -e 's/^air,stud,5,.*/air,stud,5,24 24 25,/' turned/sweeps.csv
    run "$BRINEBAND" fit turned --prior club.json
    [[ "$(echo $output)" == *"Today contradicts it: the "*"standard errors from where it was."* ]]
    "$BRINEBAND" fit v3 >/dev/null
}

@test "every profile that is written keeps to the schema" {
    python3=/usr/bin/python3
    [ -x "$python3" ] || python3=python3
    "$python3" -c 'import jsonschema' || skip "python3-jsonschema is not installed"
    "$BRINEBAND" merge v1 v2 v3 -o club.json >/dev/null
    "$BRINEBAND" merge v1 v2 --any-machine -o beach.json >/dev/null
    "$BRINEBAND" merge v1 v2 --anonymous -o nameless.json >/dev/null
    cd "$BATS_TEST_DIRNAME/../.."
    "$python3" tests/schema.py "$BATS_FILE_TMPDIR"/v[123]/profile.json \
        "$BATS_FILE_TMPDIR"/{club,beach,nameless}.json
}

@test "history shows a club by its file, after the visits" {
    "$BRINEBAND" merge v1 v2 -o listed.json >/dev/null
    run "$BRINEBAND" history listed.json v1
    [[ "${lines[-1]}" != "" && "$output" == *"2026-05-01"*"listed.json"* ]]
    [ "$("$BRINEBAND" history listed.json v1 --json | jq -c '.visits[1] | [.date, .zones[0].bare_sweeps]')" = '[null,null]' ]
}

@test "history has no number for sand that was never heard" {
    cp -r v1 silent
    printf '[zone dry]\nwetness = dry\n' >>silent/beach.ini
    sed -i '1s/$/,times,heard/; 2,$s/$/,,/; $a dry,sand,,,,20,no' silent/sweeps.csv
    "$BRINEBAND" fit silent >/dev/null
    run "$BRINEBAND" history silent
    [ "$status" -eq 0 ]
    grep -Eq 'dry +nothing +- +20' <<<"$output"
    [[ "$output" != *"What bare dry sand reads"* ]]
}

@test "history shows each visit by its date" {
    run "$BRINEBAND" history v3 v1 v2
    [ "$status" -eq 0 ]
    [[ "$output" == *"2026-05-01"*"2026-05-02"*"2026-05-03"* ]]
    [ "$("$BRINEBAND" history v3 v1 --json | jq -c '[.visits[].date]')" = '["2026-05-01","2026-05-03"]' ]
}

@test "sand that no visit heard stays quiet in the club's profile" {
    for day in 1 2; do
        cp -r "v$day" "quiet$day"
        printf '[zone dry]\nwetness = dry\n' >>"quiet$day/beach.ini"
        sed 's/,[^,]*$/,,/; 1s/,,$/,times,heard/' "v$day/sweeps.csv" >"quiet$day/sweeps.csv"
        echo "dry,sand,,,$((9 + day)),no" >>"quiet$day/sweeps.csv"
        "$BRINEBAND" fit "quiet$day" >/dev/null
    done
    "$BRINEBAND" merge quiet1 quiet2 -o quiet.json >/dev/null
    "$BRINEBAND" reject quiet.json --json | jq -e '[.zones[] | select(.zone == "dry") | .bare_sweeps, .sounding_share < 0.03] == [21, true]'
    "$BRINEBAND" merge v1 v2 -o heard.json >/dev/null
    cmp <("$BRINEBAND" reject quiet.json --zone wet --json | jq .bands) <("$BRINEBAND" reject heard.json --json | jq .bands)
}
