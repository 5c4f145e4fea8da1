# The manual and the shells' completion of a build.

setup_file() {
    export LC_ALL=C.UTF-8 BUILT=$(dirname "$BRINEBAND") SOURCE=$BATS_TEST_DIRNAME/../..
    cp -r "$SOURCE/cli/demo/skarra-strand" "$BATS_FILE_TMPDIR/v"
    cd "$BATS_FILE_TMPDIR"
    printf 'zone,target,depth_cm,reading,times,heard,setting\nwet,sand,,,40,no,17-21\n' >fresh.csv
    printf 'zone,reading,found,where\nwet,35,thin ring,the cut\nwet,23,foil,\n' >digs.csv
    "$BRINEBAND" fit v >/dev/null
}

setup() {
    cd "$BATS_FILE_TMPDIR"
}

plain() { # a page's text, without dashes of roff
    sed 's/\\-/-/g' "$BUILT/man/$1"
}

@test "every command has a page with its usage and every option" {
    for name in $("$BRINEBAND" help | awk '/^  [a-z]+ / && $1 != "help" { print $1 }'); do
        plain "brineband-$name.1" >page
        for option in $("$BRINEBAND" help "$name" | grep -oE '^  (-[a-z], )?--[a-z-]+' | grep -oE -- '--[a-z-]+'); do
            grep -qF -- "$option" page || { echo "$name: $option"; false; }
        done
        plain brineband.1 | grep -qF "brineband-$name"
    done
}

@test "the pages are clean of warnings" {
    if command -v mandoc >/dev/null; then
        for page in "$BUILT"/man/*.[135]; do
            run mandoc -T lint -W warning "$page"
            [ -z "$output" ] || { echo "$output"; false; }
        done
    fi
    command -v groff >/dev/null || skip "no groff here"
    [ -e "$(dirname "$(command -v groff)")/../share/groff/current/tmac/an.tmac" ] || skip "groff has no man macros here"
    for page in "$BUILT"/man/*.[135]; do
        run groff -ww -k -man -Tutf8 -z "$page"
        [ -z "$output" ] || { echo "$output"; false; }
    done
}

@test "the pages of commands and files fit 80 columns" {
    command -v mandoc >/dev/null || skip "no mandoc here"
    for page in "$BUILT"/man/*.[15]; do
        mandoc -T utf8 -O width=80 "$page" | sed 's/.\x08//g' >text
        run jq -R 'select(length > 80)' text
        [ -z "$output" ]
    done
}

@test "brineband-visit(5) names every key and column that is read" {
    plain brineband-visit.5 >page
    for heading in machine beach 'zone wet'; do
        printf '[%s]\nxyzzy = 1\n' "$heading" >v2.ini
        mkdir -p w && cp v2.ini w/beach.ini && cp v/kit.csv v/sweeps.csv w
        run "$BRINEBAND" w
        [ "$status" -eq 3 ]
        keys=$(sed 's/.*of this section: //' <<<"$output" | tr -d ',')
        [ "$(wc -w <<<"$keys")" -ge 3 ]
        for key in $keys; do grep -qw "$key" page || { echo "$key"; false; }; done
    done
    "$BRINEBAND" new n >/dev/null
    for column in $(grep -h '^target,shape' n/kit.csv | tr ',' ' ') zone target depth_cm reading \
        height_cm times heard setting time note; do
        grep -qw "$column" page || { echo "$column"; false; }
    done
    for key in $(grep -oE '^[a-z_]+ *=' n/beach.ini | tr -d ' ='); do grep -qw "$key" page; done
}

@test "brineband-profile(5) names every key of the schema" {
    plain brineband-profile.5 >page
    keys=$(jq -r '[.. | objects | .properties? // empty | keys[]] | unique | .[]' "$SOURCE/reference/profile.schema.json")
    [ "$(wc -w <<<"$keys")" -gt 90 ]
    for key in $keys; do grep -qw "$key" page || { echo "$key"; false; }; done
}

@test "each page names the keys of its command's JSON" {
    while read -r name words; do
        plain "brineband-$name.1" >page
        "$BRINEBAND" "$name" $words --json >answer.json < <(printf 'd\nd\n')
        for key in $(jq -r 'keys[], (.[] | arrays | .[0] | objects | keys[])' answer.json); do
            grep -qw "$key" page || { echo "$name: $key"; false; }
        done
    done <<'WORDS'
new n3
plan v
predict v --target stud --depth 5
reject v --bands 16-22
check v fresh.csv
judge v 27 --zone wet
digs v digs.csv
practise v --rounds 2 --seed 3
history v/profile.json
card v -o card.pdf
sand --salinity 35 --temperature 15 --frequency 7 --coil-diameter 28 --height 5
body --shape disc --diameter 20 --thickness 1 --material copper --frequency 7
fit v
WORDS
}

@test "libbrineband(3) holds every exported function" {
    plain libbrineband.3 >page
    names=$(grep '^BB_API' "$SOURCE/include/brineband.h" | grep -oE 'bb_[a-z0-9_]+\(' | tr -d '(')
    [ "$(wc -w <<<"$names")" -gt 30 ]
    for name in $names; do grep -qF "$name(" page || { echo "$name"; false; }; done
}

complete_bash() { # WORDS...: what bash offers for the last word
    bash -c 'source "$0"; COMP_WORDS=(brineband "$@"); COMP_CWORD=$#; _brineband; printf "%s\n" "${COMPREPLY[@]}"' \
        "$BUILT/completion/brineband.bash" "$@"
}

@test "bash completes commands, folders, options and files" {
    [ "$(complete_bash car)" = card ]
    [ "$(complete_bash help jud)" = judge ]
    complete_bash '' | grep -qx v
    [ "$(complete_bash reject v --with)" = --with-catalogue ]
    [ "$(complete_bash card v -o fre)" = fresh.csv ]
    [ "$(complete_bash check v fre)" = fresh.csv ]
    [ -z "$(complete_bash reject v --quiet '')" ]
    for name in $("$BRINEBAND" help | awk '/^  [a-z]+ / && $1 != "help" { print $1 }'); do
        [ "$(complete_bash "$name" --js)" = --json ]
    done
}

@test "zsh takes its completion, and offers the options in it" {
    command -v zsh >/dev/null || skip "no zsh here"
    run zsh -f -c '
        _describe() { print -l ${(P)2} }
        _arguments() { print -l $@ }
        _files() { : }
        words=(brineband "") CURRENT=2
        source "$0"
        words=(brineband card --) CURRENT=3
        _brineband' "$BUILT/completion/_brineband"
    [ "$status" -eq 0 ]
    [[ "$output" == *"card:one page to carry on the beach"* ]]
    [[ "$output" == *"*--output[the picture to write; it ends with .pdf, .png or .svg]:FILE:_files"* ]]
    [[ "$output" == *"--phone[the shape of a phone's screen, not of paper]"* ]]
}
