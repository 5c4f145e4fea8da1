# The pictures of a fit, of a check and of a history.

setup_file() {
    export LC_ALL=C.UTF-8
    cp -r "$BATS_TEST_DIRNAME/../../cli/demo/skarra-strand" "$BATS_FILE_TMPDIR/v"
    cd "$BATS_FILE_TMPDIR"
    printf 'zone,target,depth_cm,reading,times,heard,setting\nwet,sand,,,40,no,17-21\nwet,sand,,18 19 19,,,\n' >fresh.csv
    "$BRINEBAND" fit v >/dev/null
}

setup() {
    cd "$BATS_FILE_TMPDIR"
}

@test "a picture that cannot be written leaves the profile, and says so" {
    rm -f v/profile.json
    run "$BRINEBAND" fit v --plot no/such/folder/f.pdf
    [ "$status" -eq 5 ]
    [[ "$output" == *"no/such/folder/f.pdf: cannot write"*"v/profile.json is written all the same" ]]
    [ -s v/profile.json ]
}

@test "fit draws the curve, departures and depths in all three formats" {
    for format in pdf png svg; do
        "$BRINEBAND" fit v --plot fit.$format >/dev/null
        [ -s fit.$format ]
    done
    [ "$(pdfinfo fit.pdf | awk '/^Pages/ { print $2 }')" = 1 ]
    pdftotext -layout fit.pdf fit.txt
    for words in "machine's curve" "off what was expected" "against depth" "stud, wet" "too deep to hear"; do
        grep -qF "$words" fit.txt
    done
    grep -q "<title>Fit of " fit.svg
}

@test "check draws the trade-off and what sounded" {
    "$BRINEBAND" check v fresh.csv --bands 17-21 --plot check.pdf >/dev/null
    pdftotext -layout check.pdf check.txt
    for words in "Check of the setting 17-21" "Trade-off" "What sounded on bare sand" "1 wet, 43 bare sweeps"; do
        grep -qF "$words" check.txt || { cat check.txt; false; }
    done
}

@test "history draws each zone over the visits" {
    sed 's/"date": "2026-05-09"/"date": "2026-05-23"/' v/profile.json >later.json
    "$BRINEBAND" history later.json v --plot history.pdf >/dev/null
    pdftotext -layout history.pdf history.txt
    for words in "The sand over 2 visits" "What bare wet sand reads" "What bare damp sand reads" \
        "1 2026-05-09: reject 17-21" "2 2026-05-23: reject 17-21"; do
        grep -qF "$words" history.txt || { cat history.txt; false; }
    done
    run "$BRINEBAND" history v --plot history.txt.gif
    [ "$status" -eq 2 ]
}

@test "a plot has the same bytes for the same input and date" {
    export SOURCE_DATE_EPOCH=1778300000
    for format in pdf png svg; do
        "$BRINEBAND" fit v --plot one.$format >/dev/null
        "$BRINEBAND" fit v --plot two.$format >/dev/null
        cmp one.$format two.$format
    done
}

@test "a plot of another suffix ends with 2 before anything is written" {
    cp v/profile.json before.json
    touch -d '2020-01-01' v/profile.json
    run "$BRINEBAND" fit v --plot fit.jpg
    [ "$status" -eq 2 ]
    [ "$(date -r v/profile.json +%Y)" = 2020 ]
    run "$BRINEBAND" check v fresh.csv --plot check.jpg
    [ "$status" -eq 2 ]
    run "$BRINEBAND" check v fresh.csv --plot no/folder/check.pdf
    [ "$status" -eq 5 ]
}
