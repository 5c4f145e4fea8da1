# What fit writes and says.

setup() {
    cd "$BATS_TEST_TMPDIR"
    export LC_ALL=C.UTF-8
    mkdir v
    cat >v/beach.ini <<'END'
[machine]
scale_low = 0
scale_high = 80
frequency_khz = 7
coil_diameter_cm = 28
[beach]
name = Skarra Strand
swing_height_cm = 5
water = sea
water_temperature_c = 12
low_water = 14:10
[zone wet]
wetness = wet
[zone damp]
wetness = damp
END
    cat >v/kit.csv <<'END'
target,shape,material,diameter_mm,group
stud,sphere,gold 14ct,4,small gold
bead,sphere,gold 9ct,8,gold
ball,sphere,sterling silver,16,junk
END
    cat >v/sweeps.csv <<'END'
zone,target,depth_cm,reading,height_cm,times,heard
air,stud,5,14 14 15,,,
air,bead,10,38 38 39,,,
air,ball,10,67 68 67,,,
wet,sand,,23 22 24 23 23 24 22 21 22 23 24 24 23 22 23 23 22 23 24 23,,,
damp,sand,,,,15,no
wet,bead,0,38 37 38,,,
wet,ball,5,66 67,,,
wet,ball,10,66 65,,,
END
}

@test "says the sand's number first, then each piece in air and here, then what to do" {
    run "$BRINEBAND" fit v
    [ "$status" -eq 0 ]
    [[ "${lines[0]}" == "Sand in zone wet reads 23 ± 1"*"20 bare sweeps." ]]
    [ "${lines[1]}" = "Sand in zone damp is quiet: nothing heard in 15 bare sweeps." ]
    [[ "$output" == *"ball "*"67±1"* ]]
    [[ "$output" == *"Assumed, not learned here: 40 % pores in the sand"* ]]
    [[ "$output" == *"Next: "* ]]
    [ "${#lines[@]}" -le 24 ]
    awk 'length($0) > 84' <<<"$output" | { ! grep .; } # 80 columns and two-byte signs
}

@test "writes a profile without place or time of day, and with the place when asked" {
    "$BRINEBAND" fit v >/dev/null
    jq -e '.format == "brineband-profile"' v/profile.json
    run grep -c -e Skarra -e 14:10 v/profile.json
    [ "$output" = 0 ]
    "$BRINEBAND" fit v --with-place >/dev/null
    grep -q "Skarra Strand" v/profile.json
    [ "$(ls v)" = "$(printf 'beach.ini\nkit.csv\nprofile.json\nsweeps.csv')" ]
}

@test "--json has what the words have" {
    "$BRINEBAND" fit v --json >out
    jq -e '.zones[0].mean > 22 and .zones[0].mean < 24 and .zones[1].sounded == 0' out
    jq -e '[.targets[] | select(.target == "ball" and .zone == "air")] | length == 1' out
    jq -e '.evidence.converged and (.parameters | length > 10) and .suspects == []' out
}

@test "sand that changes by the hour is said to, and steady sand is not" {
    sed -i '1s/$/,time/; 2,$s/$/,/; s/^wet,sand,.*/wet,sand,,26 27 26 25 26,,,,9:00/' v/sweeps.csv
    printf 'wet,sand,,24 25 24 23 24,,,,9:40\nwet,sand,,22 23 22 21 22,,,,10:30\n' >>v/sweeps.csv
    run "$BRINEBAND" fit v
    [ "$status" -eq 0 ]
    [[ $(tr -s '\n ' ' ' <<<"$output") == *"Bare sand in zone wet fell by 4 numbers in 1.5 hours: pump it again"* ]]
    "$BRINEBAND" fit v --json >out
    jq -e '.zones[0] | .change < -3 and .change_hours == 1.5 and .change_p < 0.001' out
    jq -e '.zones[1].change == null' out
    sed -i 's/10:30/9:00/; s/9:40/10:30/; s/26 27 26 25 26/22 24 22 26 26/' v/sweeps.csv
    run "$BRINEBAND" fit v
    [[ "$output" != *"Bare sand in zone wet fell"* ]]
}

@test "a slip of the pen is named by its line" {
    echo 'wet,ball,5,44,,,' >>v/sweeps.csv
    run "$BRINEBAND" fit v
    [ "$status" -eq 0 ]
    [[ "$output" == *"sweeps.csv line 10, ball read 44 where"* ]]
    [ "$("$BRINEBAND" fit v --json | jq -c '.suspects[0] | [.line, .target, .reading]')" = '[10,"ball",44]' ]
}

@test "--verbose adds the parameters and the evidence" {
    run "$BRINEBAND" fit v --verbose
    [ "$status" -eq 0 ]
    [[ "$output" == *"salt.log_level"* ]]
    [[ "$output" == *"Settled in"*"rank"* ]]
}

@test "too little to fit ends with 4, says what to sweep, and writes no profile" {
    sed -i '2,$d' v/sweeps.csv
    run "$BRINEBAND" fit v
    [ "$status" -eq 4 ]
    [[ "$output" == *"bare sand"* ]]
    [ ! -e v/profile.json ]
    "$BRINEBAND" fit v --json >said 2>/dev/null || [ $? -eq 4 ]
    jq -e '.missing | test("^no bare sand")' said
}

@test "without a kit the sweeps name the pieces, and the next thing is to write one" {
    cp -r v named
    { echo target; cut -d, -f2 v/sweeps.csv | grep -vx 'target\|sand' | awk '!seen[$0]++'; } >named/kit.csv
    rm v/kit.csv
    "$BRINEBAND" fit named >/dev/null
    run "$BRINEBAND" fit v
    [ "$status" -eq 0 ]
    [ "$(jq -c .parameters v/profile.json)" = "$(jq -c .parameters named/profile.json)" ]
    said=$("$BRINEBAND" v | tr -s ' \n' ' ')
    [[ "$said" == *"Write kit.csv: without it nobody knows which pieces are gold."*"like stud,small gold"* ]]
}

@test "a wrong kit ends with 3 before anything is written" {
    sed -i 's/sphere,gold 9ct/shpere,gold 9ct/' v/kit.csv
    run "$BRINEBAND" fit v
    [ "$status" -eq 3 ]
    [[ "$output" == v/kit.csv:3:2:* ]]
    [ ! -e v/profile.json ]
}

@test "a folder that cannot be written ends with 5 and leaves the old profile" {
    "$BRINEBAND" fit v >/dev/null
    cp v/profile.json before
    run bash -c 'ulimit -f 1; trap "" XFSZ; "$BRINEBAND" fit v'
    [ "$status" -eq 5 ]
    cmp before v/profile.json
    [ "$(ls v | wc -l)" -eq 4 ]
}

@test "a long reading shows how far it is, and interrupted leaves nothing behind" {
    script -qec true /dev/null &>/dev/null || skip "no terminals here"
    mv v/sweeps.csv rows
    mkfifo v/sweeps.csv
    jq -nr 'range(9000) | "wet,sand,,22,,,"' >more
    { cat rows; for ((i = 0; i < 100; i++)); do cat more; sleep 0.05; done; } >v/sweeps.csv 2>/dev/null &
    run script -qec "timeout --preserve-status -s INT 2.5 '$BRINEBAND' fit v" /dev/null
    [ "$status" -eq 130 ]
    [[ "$output" == *"v/sweeps.csv: "*" MB read"* ]]
    [ "$(ls v)" = "$(printf 'beach.ini\nkit.csv\nsweeps.csv')" ]
}

@test "sweeps that keep the fit from settling are left out, and named by their rows" {
    cp -r "$BATS_TEST_DIRNAME/../data/undecided" .
    run "$BRINEBAND" fit undecided
    [ "$status" -eq 0 ]
    [[ "$output" == *"learned from 171 sweeps of 9 pieces"* ]]
    said=$(tr '\n' ' ' <<<"$output")
    rows=$("$BRINEBAND" fit undecided --json | jq '.left_out[]')
    [ -n "$rows" ]
    list= sweeps=0
    for row in $rows; do
        IFS=, read -r _ piece _ _ reading times _ <<<"$(sed -n "${row}p" undecided/sweeps.csv)"
        list="$list, $row ($piece)"
        sweeps=$((sweeps + ${times:-1} * $(wc -w <<<"$reading")))
    done
    [[ "$said" == *"Left out: sweeps.csv lines ${list#, }. Whether the salt drowned these"* ]]
    jq -e ".data.left_out == $sweeps" undecided/profile.json
    cp -r undecided without
    for row in $rows; do sed -i "${row}s/^/#/" without/sweeps.csv; done
    "$BRINEBAND" fit without >said
    ! grep "Left out" said
    jq -e '.data.left_out == null' without/profile.json
    [ "$(jq -c .parameters undecided/profile.json)" = "$(jq -c .parameters without/profile.json)" ]
    run "$BRINEBAND" undecided
    [[ "$output" == *"brineband reject undecided"* ]]
}
