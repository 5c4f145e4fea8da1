# The demo visit, as README's first command runs it.

setup() {
    export LC_ALL=C.UTF-8
    cp -r cli README.md "$BATS_TEST_TMPDIR"
    cd "$BATS_TEST_TMPDIR"
    ln -s "$BRINEBAND" brineband
}

@test "the first line is the setting, and a dozen lines are all" {
    run sh cli/demo/demo.sh ./brineband
    [ "$status" -eq 0 ]
    [[ "${lines[0]}" =~ ^Reject\ [0-9]+-[0-9]+\.$ ]]
    [ "$(sed '/^An invented beach/,$d' <<<"$output" | wc -l)" -le 12 ]
    [[ "${lines[-1]}" == *"brineband new mybeach" ]]
    run awk 'length($0) > 84' <<<"$output"
    [ -z "$output" ]
}

@test "one edit changes the answer" {
    sh cli/demo/demo.sh ./brineband >before
    sed -i 's/17 18 19 18 18/17 18 24 18 18/' demo/sweeps.csv
    ./brineband demo >after
    [ "$(head -n 1 before)" != "$(head -n 1 after)" ]
}

@test "every file says first that it is invented" {
    for file in cli/demo/skarra-strand/*; do
        head -n 1 "$file" | grep -q "Invented: no such beach, no such machine"
    done
}

@test "fit, predict, reject and check stay within 80 columns" {
    sh cli/demo/demo.sh ./brineband >/dev/null
    { ./brineband fit demo && ./brineband predict demo && ./brineband reject demo &&
        ./brineband check demo demo/sweeps.csv; } >all
    # columns, not bytes: awk of a bare system counts bytes
    run jq -R 'select(length > 80)' all
    [ -z "$output" ]
}

@test "README shows what the demo prints" {
    {
        sh cli/demo/demo.sh ./brineband && ./brineband fit demo && ./brineband reject demo &&
            ./brineband check demo demo/sweeps.csv
    } | sed 's|\./demo|build/demo|; s/^ *//' >printed
    grep '^    ' README.md | sed 's/^ *//' | grep -v '^sh ' >shown
    [ "$(wc -l <shown)" -ge 17 ]
    run grep -vxF -f printed shown
    [ -z "$output" ]
    digest=$(jq -r '.data.digest' demo/profile.json)
    grep -qF "profile ${digest:0:8};" README.md
}

@test "README's picture is the card of the demo" { # if not: make picture
    sh cli/demo/demo.sh ./brineband >/dev/null
    ./brineband card demo -o card.svg >/dev/null
    for part in title desc; do
        grep "<$part>" card.svg >now
        grep "<$part>" cli/demo/card.svg | diff - now
    done
    [ "$(grep -c '<use' card.svg)" = "$(grep -c '<use' cli/demo/card.svg)" ] # letters drawn
    grep -qF 'src="cli/demo/card.svg"' README.md
}
