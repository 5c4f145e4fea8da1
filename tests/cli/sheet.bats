# The sheet of a plan: a page to write readings on.

setup() {
    export LC_ALL=C.UTF-8
    cd "$BATS_TEST_TMPDIR"
    "$BRINEBAND" new v >/dev/null
    sed -i 's/^turn_back =  */turn_back = 15:00 /' v/beach.ini
}

@test "the sheet is one page with every stop in walking order, and how to sweep in ten lines" {
    "$BRINEBAND" plan v --sheet sheet.pdf --minutes 60 --json >plan.json
    [ "$(pdfinfo sheet.pdf | awk '/^Pages/ { print $2 }')" = 1 ]
    pdftotext -layout sheet.pdf sheet.txt
    grep -q "Turn back 15:00" sheet.txt
    stops=$(jq '.stops | length' plan.json)
    [ "$stops" -gt 3 ]
    [ "$(grep -cE '^ *[0-9]+ +(at home|wet|damp): ' sheet.txt)" = "$stops" ]
    [ "$(grep -cE '^ *[0-9]+\. ' sheet.txt)" = 10 ]
    grep -q "Never turn your back on the sea" sheet.txt
}

@test "a sheet that cannot be drawn ends with 2 or 5 and writes no csv beside it" {
    run "$BRINEBAND" plan v --sheet sheet.doc --csv rows.csv
    [ "$status" -eq 2 ]
    [[ "$output" == *".pdf, .png or .svg"* ]]
    [ ! -e rows.csv ]
    run "$BRINEBAND" plan v --sheet no/folder/sheet.pdf
    [ "$status" -eq 5 ]
}
