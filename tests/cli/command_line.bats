# How the command line is read, for every command alike.

setup() {
    cd "$BATS_TEST_TMPDIR"
    export LC_ALL=C.UTF-8
}

visit() { # a visit of bare sand only, in the folder $1
    mkdir -p "$1"
    printf '[machine]\nscale_low = 0\nscale_high = 80\n[beach]\nname = Skarra Strand\n[zone wet]\nwetness = wet\n' >"$1/beach.ini"
    printf 'zone,target,depth_cm,reading\nwet,sand,,23 22 24\n' >"$1/sweeps.csv"
}

@test "alone, it shows the way from a new beach to a setting" {
    run "$BRINEBAND"
    [ "$status" -eq 0 ]
    for step in 1. 2. 3. 4. 5.; do [[ "$output" == *"  $step "* ]]; done
}

@test "no line of any help is wider than 80 columns" {
    for name in $("$BRINEBAND" help | awk '/^  [a-z]+ / && $1 != "help" { print $1 }'); do
        "$BRINEBAND" help "$name" >>all
        "$BRINEBAND" "$name" --help >again
        "$BRINEBAND" help "$name" | cmp - again
    done
    "$BRINEBAND" help >>all
    "$BRINEBAND" >>all
    run awk 'length($0) > 80' all
    [ -z "$output" ]
}

@test "--version names the program and its version" {
    run "$BRINEBAND" --version
    [ "$status" -eq 0 ]
    [[ "$output" =~ ^brineband\ [0-9]+\.[0-9]+\.[0-9]+$ ]]
}

@test "an unknown word is a wrong command line, with the nearest command" {
    run "$BRINEBAND" helpp
    [ "$status" -eq 2 ]
    [[ "$output" == *"did you mean 'help'?" ]]
    run "$BRINEBAND" --versoin
    [ "$status" -eq 2 ]
    [[ "$output" == *"did you mean '--version'?" ]]
    run "$BRINEBAND" no/such/folder
    [ "$status" -eq 2 ]
    [[ "$output" == *"no such folder"* ]]
}

@test "an unknown option is a wrong command line, with the nearest option" {
    visit v
    run "$BRINEBAND" v --jsno
    [ "$status" -eq 2 ]
    [[ "$output" == *"did you mean --json?" ]]
}

@test "a folder without a verb says its setting, what it holds and the next thing to do" {
    visit v
    run "$BRINEBAND" v
    [ "$status" -eq 0 ]
    [[ "${lines[*]:0:2}" == "Reject "*"not proved for gold, for now: wet sand was pumped only 3 times."* ]]
    [[ "$output" == *"Skarra Strand: 3 sweeps, 0 pieces in the kit."* ]]
    [[ "$output" == *"Pump bare sand in zone wet 12 more times (3 so far)."* ]]
    [ "$("$BRINEBAND" v --json | jq -c '[.profile, .sweeps, .zones[0].bare_sweeps, .verdict]')" = '["none",3,3,"unproved"]' ]
    [ "$(ls v)" = "$(printf 'beach.ini\nsweeps.csv')" ]
}

@test "each zone's last five pumps decide whether fifteen are enough" {
    visit v
    printf 'zone,target,depth_cm,reading\nwet,sand,,23 22 24 23 22 24 23 22 24 23 22 24 23 22 25\n' >v/sweeps.csv
    run "$BRINEBAND" v
    [[ "$output" == *"Pump bare sand in zone wet 10 more times (15 so far): the last"* ]]
    printf 'zone,target,depth_cm,reading\nwet,sand,,23 22 25 23 22 24 23 22 24 23 22 24 23 22 25\n' >v/sweeps.csv
    run "$BRINEBAND" v
    [[ "$output" != *"Pump bare sand"* ]]
}

@test "a mistake in a file ends with 3, the place, and what is accepted" {
    visit v
    sed -i 's/scale_high/scale_hihg/' v/beach.ini
    run "$BRINEBAND" v
    [ "$status" -eq 3 ]
    [[ "$output" == 'v/beach.ini:3:1: found "scale_hihg", accepted'*'"scale_high"' ]]
}

@test "a missing file ends with 5 and the system's reason" {
    visit v
    rm v/sweeps.csv
    run "$BRINEBAND" v
    [ "$status" -eq 5 ]
    [[ "$output" == *"v/sweeps.csv: cannot open: No such file or directory" ]]
}

@test "output that cannot be written ends with 5" {
    [ -w /dev/full ]
    run sh -c '"$BRINEBAND" help >/dev/full'
    [ "$status" -eq 5 ]
}

@test "no colour where the output is no terminal" {
    visit v
    run "$BRINEBAND" v
    [[ "$output" != *$'\033'* ]]
}

# The words of a command, the status it ends with, and what it says.
@test "options stand in any of the usual ways, and each wrong way is named" {
    visit v
    "$BRINEBAND" fit v >/dev/null
    printf '[machine]\nscale_low = 0\nscale_high = 90\n[zone wet]\nwetness = wet\n' >wide.ini
    cp -r v wide && cp wide.ini wide/beach.ini && "$BRINEBAND" fit wide >/dev/null
    cp -r v low && sed -i 's/scale_low = 0/scale_low = -10/' low/beach.ini
    "$BRINEBAND" fit low >/dev/null && cp v/profile.json .
    cp -r v step && printf '[machine]\nscale_low = 0\nscale_high = 80\nscale_step = 2\n[zone wet]\n' >step/beach.ini
    sed -i 's/23 22 24/22 22 24/' step/sweeps.csv && "$BRINEBAND" fit step >/dev/null
    cp -r v again
    while IFS='|' read -r words wanted said; do
        # shellcheck disable=SC2086
        run "$BRINEBAND" $words
        [ "$status" -eq "$wanted" ] || { echo "$words: $status, $output"; return 1; }
        [[ "$output" == *"$said"* ]] || { echo "$words: $output"; return 1; }
    done <<'CASES'
fit -- v|0|learned from 3 sweeps
card v -ocard.svg|0|
fit v --json=yes|2|--json takes no value
card v -o|2|--output needs a value
card v --output|2|--output needs a value
card v -o --json|2|--output needs a value
card v -oa.svg --output=b.svg|2|--output was given twice
fit v -z|2|-z is not known
fit v --quite-another-thing|2|lists the options
plan v --start 24:00|2|like 13:20, not '24:00'
plan v --start 12:60|2|like 13:20, not '12:60'
plan v --start 12:00x|2|like 13:20, not '12:00x'
plan v --start noon|2|like 13:20, not 'noon'
plan v --start 1:-5|2|like 13:20, not '1:-5'
plan v --start -1:20|2|like 13:20, not '-1:20'
-h|0|usage: brineband COMMAND
judge v 23|0|Small gold or foil: 
merge v v --method xx -o c.json|2|found "xx", accepted pm or dl
merge v v --method dl -o c.json|0|Pooled 1 visit
merge profile.json v/profile.json -o c.json|0|Left out: v/profile.json, the same sweeps as another file
history v wide|3|their number scales differ
history v step|3|their number scales differ
history v again|0|
history v low|3|their number scales differ
judge v -5 --zone wet|2|found '-5', accepted 0 to 80
judge v -.5 --zone wet|2|found '-.5', accepted a whole number
judge v -.x --zone wet|2|-.x is not known
judge v - --zone wet|2|found '-', accepted a whole number
plan v --count 0x12|2|found '0x12', accepted 1 to 400
plan v --count=|2|found '', accepted 1 to 400
plan v --count 1e10|2|found '1e10', accepted 1 to 400
plan v --count 2.5|2|found '2.5', accepted 1 to 400
card v -o a|2|found 'a', accepted a file that ends with .pdf, .png or .svg
merge profile.json -o c.json|0|Pooled 1 visit
body --material quite-unknown --shape sphere --diameter 20 --frequency 7|2|a metal of 'brineband body --help'
body --material silvr --shape sphere --diameter 20 --frequency 7|2|did you mean 'silver'?
CASES
}

@test "what beach.ini gives is not said to be assumed" {
    visit v
    printf '[machine]\nscale_low = 0\nscale_high = 80\nfrequency_khz = 10\ncoil_diameter_cm = 28\n[beach]\nswing_height_cm = 5\nwater_salinity = 35\nwater_temperature_c = 12\nsand_porosity = 0.4\n[zone wet]\nwetness = wet\n' >v/beach.ini
    run "$BRINEBAND" fit v
    [ "$status" -eq 0 ]
    [[ "$output" == *"Assumed, not learned here: the pull of the salt in zone wet."* ]]
}
