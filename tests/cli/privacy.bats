# What is passed on holds no place, no time of day and no remark: every byte of it is the same for two
# visits that differ in nothing else.

# write_visit DIR PLACE HOUR REMARK MACHINE DAY: sweeps on the quarter hour, so that another hour
# rounds alike.
write_visit() {
    mkdir "$1"
    cat >"$1/beach.ini" <<END
# $4
[machine]
name = $5
settings = quick
scale_low = 0
scale_high = 80
frequency_khz = 7
coil_diameter_cm = 28
[beach]
name = $2
date = 2026-05-$6
low_water = $3:10
turn_back = $3:50
water = sea
[zone wet]
wetness = wet
END
    cat >"$1/kit.csv" <<END
# $4
target,shape,material,diameter_mm,group
stud,sphere,gold 14ct,4,small gold
bead,sphere,gold 9ct,8,gold
ball,sphere,sterling silver,16,junk
END
    cat >"$1/sweeps.csv" <<END
# $4
zone,target,depth_cm,reading,time,note
air,stud,5,14 14 15,,$4
air,bead,10,38 38 39,,
air,ball,10,67 68 66,,
wet,sand,,23 22 24 23 23,$3:00,$4
wet,sand,,24 22 21 22 23,$3:15,
wet,sand,,24 24 23 22 25,$3:30,
wet,bead,0,38 37 39,$3:45,$4
wet,ball,5,66 67,$(($3 + 1)):00,
END
}

setup_file() {
    cd "$BATS_FILE_TMPDIR"
    export LC_ALL=C.UTF-8
    write_visit one "Skarra Strand" 10 "by the secret pier" "Harbour set" 03
    write_visit two "Zuidduin" 17 "jetty of the ferry" "Harbour set" 03
    write_visit other "Zuidduin" 17 "jetty of the ferry" "Borrowed set" 28
    write_visit third "Skarra Strand" 10 "by the secret pier" "Harbour set" 04
    sed -i 's/23 22 24 23 23/22 22 24 23 23/' third/sweeps.csv
    for visit in one two other third; do
        "$BRINEBAND" fit "$visit" >"$visit.words"
    done
}

setup() {
    cd "$BATS_FILE_TMPDIR"
    export LC_ALL=C.UTF-8
    rm -rf a b
    mkdir a b
}

# The same command in a folder that holds the first visit's profile, and in the second's.
in_both() {
    (cd a && "$@") && (cd b && "$@")
}

hold() {
    cp "$1/profile.json" a/profile.json
    cp "$2/profile.json" b/profile.json
}

@test "a profile is the same to the byte whatever the place, the hour and the remarks" {
    cmp one/profile.json two/profile.json
    jq -e '.data.salt_drifts == true' one/profile.json
    run grep -a -c -i -e skarra -e pier -e 10:10 -e 10:50 -e 10:15 one/profile.json
    [ "$output" = 0 ]
}

@test "so is a profile by another machine's name on another day of the month, when anonymous" {
    run cmp one/profile.json other/profile.json
    [ "$status" -eq 1 ]
    "$BRINEBAND" fit one --anonymous >/dev/null
    "$BRINEBAND" fit other --anonymous >/dev/null
    cmp one/profile.json other/profile.json
    run grep -a -c -i -e harbour -e 2026-05- one/profile.json
    [ "$output" = 0 ]
    "$BRINEBAND" fit one >/dev/null
    "$BRINEBAND" fit other >/dev/null
}

@test "so is a club's profile" {
    "$BRINEBAND" merge one third -o a/club.json
    "$BRINEBAND" merge two third -o b/club.json
    cmp a/club.json b/club.json
    "$BRINEBAND" merge other -o b/club.json --anonymous
    "$BRINEBAND" merge one -o a/club.json --anonymous
    cmp a/club.json b/club.json
}

@test "so are a history, a card's bytes in each format, and what the commands print" {
    hold one two
    for words in "history profile.json" "history profile.json --json" "reject profile.json" \
        "predict profile.json --json" "card profile.json -o card.svg" \
        "card profile.json -o card.png" "card profile.json -o card.pdf"; do
        set -- $words
        in_both sh -c "'$BRINEBAND' $words >printed"
        cmp a/printed b/printed
    done
    for kind in svg png pdf; do
        cmp "a/card.$kind" "b/card.$kind"
    done
    [ "$(TZ=UTC pdfinfo -isodates a/card.pdf | sed -n 's/^CreationDate:.*T//p')" = 00:00:00Z ]
}

@test "only --with-place writes the place, and nothing else with it" {
    cp -r one a/one
    "$BRINEBAND" fit a/one --with-place >/dev/null
    grep -q "Skarra Strand" a/one/profile.json
    diff <(jq 'del(.beach.name)' a/one/profile.json) <(jq . one/profile.json)
}
