# What digs answers, its keys, what it writes, and that no position leaves it.

bats_require_minimum_version 1.5.0
load small_beach

setup() {
    cd "$BATS_TEST_TMPDIR"
    export LC_ALL=C.UTF-8
    fit_small_beach v
    cat >digs.csv <<'END'
zone,reading,found,depth_cm,where,time,minutes,lat,lon,note
wet,38 37,bead,8,the cut,04:41,20,51.834719,-1.927463,by the qwzjpost
wet,23,nothing,,the cut,,15,51.834719,-1.927463,
wet,30,foil,4,weed line,04:41,10,51.834719,-1.927463,qwzjpost
wet,31,foil,4,weed line,,10,,,
damp,67,coin,20,,,,,,
damp,4,iron,12,lee,,30,,,
damp,,,,lee,,40,,,
END
}

@test "digs: the answer first, a table, a picture and limits, on 80 columns" {
    run -0 --separate-stderr "$BRINEBAND" digs v digs.csv
    [[ "${lines[0]}" == "6 holes: 2 held something to keep; judge would have called "* ]]
    [[ "$output" == *"Brier score"*"reliability"*"resolution"*"uncertainty"* ]]
    [[ "$output" == *"called"*"holes"*"keep"*"|0 "*"100 %"* ]]
    [[ "$output" == *"weed line"* && "$output" == *"95 % limits"* ]]
    [[ "$output" == *"Nothing was written."* ]]
    while IFS= read -r line; do [ "${#line}" -le 80 ]; done <<<"$output"
}

@test "digs: the keys that other programs rely on" {
    "$BRINEBAND" digs v digs.csv --json >out
    jq -e '.holes == 6 and .kept == 2 and .base_rates == "even" and .updated == null' out
    jq -e '.brier | .score - (.reliability - .resolution + .uncertainty) | fabs < 1e-12' out
    jq -e '[.bins[].holes] | add == 6' out
    jq -e '.rates[] | select(.zone == "wet" and .group == "foil") | .dug == 2 and .deepest_cm == 4' out
    jq -e '.spots[] | select(.where == "lee") | .kept == 0 and .low == 0 and .high > 3' out
    jq -e '[.rates[], .bins[] | .low <= .high] | all' out
}

@test "digs: --update writes a new profile, and over an old one only when asked" {
    cp v/profile.json before.json
    run -0 "$BRINEBAND" digs v digs.csv --update new.json
    cmp v/profile.json before.json
    jq -e '.finds | map(select(.group == "foil")) == [{"group":"foil","dug":[2,0]}]' new.json
    "$BRINEBAND" judge new.json 30 --zone wet --only-kit --depth 0 --json >judged
    # 2 foil of 4 dug here, half a find more for each of the five groups heard
    jq -e '.classes[] | select(.group == "foil").base_rate | . - 2.5 / 6.5 | fabs < 1e-12' judged
    jq -e '.base_rates == "finds"' judged
    run -2 "$BRINEBAND" digs v digs.csv --update new.json
    [[ "$output" == *"new.json is there already; another name, or --replace"* ]]
    run -2 "$BRINEBAND" digs v digs.csv --update v/profile.json
    cmp v/profile.json before.json
    run -0 "$BRINEBAND" digs v digs.csv --update v/profile.json --replace
    cmp v/profile.json new.json
}

@test "digs: finds given again are not counted twice" {
    "$BRINEBAND" digs v digs.csv --update one.json >/dev/null
    "$BRINEBAND" digs one.json digs.csv --update two.json >out
    grep -q "in place of those the profile had" out
    grep -q "the score flatters" out
    cmp one.json two.json
    "$BRINEBAND" digs v digs.csv digs.csv --update both.json >/dev/null
    jq -e '.finds[] | select(.group == "foil").dug == [4, 0]' both.json
}

@test "digs: no position, time, note or spot leaves it, byte by byte" {
    mkdir out
    "$BRINEBAND" digs v digs.csv --update out/new.json >out/digs.txt 2>&1
    "$BRINEBAND" digs v digs.csv --json >out/digs.json
    for command in "predict" "reject" "history" "judge" "practise"; do
        case $command in
        judge) set -- 30 --zone wet ;;
        practise) set -- --zone wet --seed 1 ;;
        *) set -- ;;
        esac
        "$BRINEBAND" $command out/new.json "$@" >"out/$command.txt" 2>&1 </dev/null || true
        "$BRINEBAND" $command out/new.json "$@" --json >"out/$command.json" 2>&1 </dev/null || true
    done
    "$BRINEBAND" merge out/new.json -o out/club.json --with-place >out/merge.txt 2>&1
    "$BRINEBAND" card out/new.json -o out/card.svg >out/card.txt 2>&1
    "$BRINEBAND" card out/new.json -o out/card.pdf
    "$BRINEBAND" card out/new.json -o out/card.png
    pdftotext out/card.pdf out/card.pdf.txt
    cp v/* out # the visit's own files were not touched either
    [ "$(ls out | wc -l)" -ge 20 ]
    for secret in 834719 927463 qwzjpost 04:41; do
        run ! grep -a -r -q -e "$secret" out
    done
    for words in "weed line" "the cut"; do
        [ "$(grep -a -r -l -e "$words" out | sort | tr '\n' ' ')" = "out/digs.json out/digs.txt " ]
    done
}

@test "digs: a bad row, no row, no file" {
    printf 'zone,reading,found\nwet,23,foils\n' >bad.csv
    run -3 "$BRINEBAND" digs v bad.csv --update new.json
    [[ "$output" == *'bad.csv:2:3: found "foils", accepted a group, a piece, or nothing; the nearest is "foil"'* ]]
    [ ! -e new.json ]
    printf 'zone,reading,found\n' >none.csv
    run -4 "$BRINEBAND" digs v none.csv
    [[ "$output" == *"no hole to count yet"* ]]
    run -5 "$BRINEBAND" digs v missing.csv
    run -2 "$BRINEBAND" digs v
}

@test "digs: calls that were too low or too high are told" {
    { echo zone,reading,found; for ((i = 0; i < 30; i++)); do echo wet,4,small gold; done; } >low.csv
    { echo zone,reading,found; for ((i = 0; i < 30; i++)); do echo wet,38,nothing; done; } >high.csv
    run -0 "$BRINEBAND" digs v low.csv
    [[ "$output" == *"30 holes: 30 held something"*"its calls were too low here."* ]]
    run -0 "$BRINEBAND" digs v high.csv
    [[ "$output" == *"30 holes: 0 held something"*"its calls were too high here."* ]]
}
