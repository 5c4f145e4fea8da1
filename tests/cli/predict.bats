# What predict answers, in words and as JSON.

setup_file() {
    cd "$BATS_FILE_TMPDIR"
    export LC_ALL=C.UTF-8
    mkdir v
    cat >v/beach.ini <<'END'
[machine]
scale_low = -10
scale_high = 50
scale_step = 2
frequency_khz = 7
coil_diameter_cm = 28
[beach]
swing_height_cm = 5
[zone wet]
wetness = wet
[zone damp]
wetness = damp
END
    cat >v/kit.csv <<'END'
target,shape,material,diameter_mm,group
bead,sphere,gold 9ct,8,gold
ball,sphere,sterling silver,16,junk
END
    cat >v/sweeps.csv <<'END'
zone,target,depth_cm,reading
air,bead,10,20 20 20
air,ball,10,40 40 42
wet,sand,,6 8 6 6 8 8 4 6 6 8 6 8 6 6 8 6
damp,sand,,6 4 4 6 6 4 4 6
wet,bead,0,20 18
wet,ball,5,40 38
END
    "$BRINEBAND" fit v >/dev/null
}

setup() {
    cd "$BATS_FILE_TMPDIR"
}

@test "sand that was never heard is said to have a number by physics alone" {
    mkdir -p silent
    cp v/beach.ini v/kit.csv silent
    sed '1s/$/,times,heard/; 2,$s/$/,,/; s/^damp,sand.*/damp,sand,,,12,no/' v/sweeps.csv >silent/sweeps.csv
    "$BRINEBAND" fit silent >/dev/null
    run "$BRINEBAND" predict silent --target sand
    [[ $(tr -s '\n ' ' ' <<<"$output") == *"Sand in zone damp was never heard in 12 sweeps: its number is by physics alone."* ]]
    [[ "$output" != *"zone wet was never heard"* ]]
}

@test "a pair of frequencies on black sand: what it leaves is said" {
    mkdir -p black
    cp v/kit.csv v/sweeps.csv black
    sed 's/^frequency_khz.*/frequency_khz = 7, 19/; s/^\[beach\]/&\nsusceptibility_si = 0.001/' v/beach.ini >black/beach.ini
    "$BRINEBAND" fit black >/dev/null
    run "$BRINEBAND" predict black --target bead --zone wet
    [[ "$output" == *"Black sand"*"leaves 171 %"* ]]
    run "$BRINEBAND" predict v --target bead --zone wet
    [[ "$output" != *"Black sand"* ]]
}

@test "without options: the kit and sand, every zone, 2 to 20 cm" {
    "$BRINEBAND" predict v --json >out
    [ "$(jq '.predictions | length' out)" -eq 42 ] # 2 pieces, 10 depths, 2 zones; sand in 2 zones
    jq -e '[.predictions[] | select(.target == "sand") | .depth_cm] == [null, null]' out
    jq -e '[.predictions[] | .depth_cm // 2] | max == 20 and min == 2' out
    jq -e '.predictions[0] | keys_unsorted == ["target","zone","depth_cm","mean","sd","low","high","masked","signal_to_ground","clean_in_air","pull_corrosion","pull_salt","pull_depth","pmf"]' out
}

@test "the chances have one entry a step of the scale, sum to one and give the mean" {
    "$BRINEBAND" predict v --json >out
    jq -e 'all(.predictions[]; .pmf.from == -10 and (.pmf.p | length) == 31)' out
    jq -e 'all(.predictions[]; (.pmf.p | add - 1 | fabs) < 1e-12)' out
    jq -e 'all(.predictions[]; .mean as $m | [.pmf.p | to_entries[] | (.key * 2 - 10) * .value]
               | add - $m | fabs < 1e-10)' out
    jq -e 'all(.predictions[]; .low as $n | .pmf.p[:($n + 10) / 2 + 1] | add >= 0.05)' out
    jq -e 'all(.predictions[]; .high as $n | .pmf.p[:($n + 10) / 2 + 1] | add >= 0.95)' out
}

@test "repeated options are answered in every combination, in their order" {
    run bash -c '"$BRINEBAND" predict v --target ball --target bead --zone damp --zone air --depth 5 --depth 40mm --json |
        jq -c "[.predictions[] | [.target, .zone, .depth_cm]]"'
    [ "$output" = '[["ball","damp",5],["ball","damp",4],["ball","air",5],["ball","air",4],["bead","damp",5],["bead","damp",4],["bead","air",5],["bead","air",4]]' ]
}

@test "in air and for bare sand nothing is masked and there is no ground to beat" {
    "$BRINEBAND" predict v --target ball --zone air --depth 10 --json |
        jq -e '.predictions[0] | .masked == null and .signal_to_ground == null'
    "$BRINEBAND" predict v --target sand --json | jq -e '.predictions[0].masked == null'
    "$BRINEBAND" predict v --target ball --depth 5 --json |
        jq -e '.predictions[0] | .masked == false and .signal_to_ground > 3'
}

@test "wear, salt and depth add up to the number expected, and fit the screen" {
    mkdir -p aged && cp v/beach.ini aged
    sed '1s/$/,years/; 2s/$/,0/; 3s/$/,90/; s/sterling silver/brass/' v/kit.csv >aged/kit.csv
    cp v/sweeps.csv aged
    "$BRINEBAND" fit aged >/dev/null
    "$BRINEBAND" predict aged --json >out
    jq -e '[.predictions[] | select(.target != "sand")
               | .clean_in_air + .pull_corrosion + .pull_salt + .pull_depth - .mean | fabs]
           | max < 1e-9' out
    jq -e 'all(.predictions[]; .target != "bead" or .pull_corrosion == 0)' out
    jq -e 'all(.predictions[]; .target != "ball" or .pull_corrosion < 0)' out
    jq -e 'all(.predictions[]; .target != "sand" or .pull_salt == null)' out
    run "$BRINEBAND" predict aged --zone wet --depth 5
    [[ "${lines[0]}" == *"in air"*"worn"*"salt"*"deep"* ]]
    awk 'length > 80 { exit 1 }' <<<"$output"
    run "$BRINEBAND" predict v --zone wet --depth 5
    [[ "${lines[0]}" != *"worn"* ]]
}

@test "a piece of the catalogue needs no sweep" {
    run "$BRINEBAND" predict v --target "gold band" --zone wet --depth 5
    [ "$status" -eq 0 ]
    [[ "${lines[1]}" == "gold band  wet    5 cm  "* ]]
}

@test "a wrong name is a wrong command line, with the nearest name" {
    run "$BRINEBAND" predict v --target bal
    [ "$status" -eq 2 ]
    [[ "$output" == *"did you mean 'ball'?" ]]
    run "$BRINEBAND" predict v --zone dmap
    [ "$status" -eq 2 ]
    [[ "$output" == *"did you mean 'damp'?" ]]
}

@test "a depth without a unit is cm; others are refused with what is accepted" {
    for depth in 300 5kg 0x5 nan 1e999 ""; do
        run "$BRINEBAND" predict v --depth "$depth"
        [ "$status" -eq 2 ]
        [ "$output" = "brineband: predict: --depth: found '$depth', accepted 0 to 200 cm (or mm, m)" ]
    done
    run "$BRINEBAND" predict v --target ball --zone air --depth 0
    [ "$status" -eq 2 ]
}

@test "what if the coil swung higher: the same target reads with less certainty" {
    low=$("$BRINEBAND" predict v --target ball --zone wet --depth 10 --json | jq '.predictions[0].sd')
    high=$("$BRINEBAND" predict v --target ball --zone wet --depth 10 --height 15 --json | jq '.predictions[0].sd')
    jq -n "$high > $low" | grep -q true
}

@test "a folder without a profile, and one whose sweeps are newer" {
    mkdir -p w && cp v/*.ini v/*.csv w
    run "$BRINEBAND" predict w
    [ "$status" -eq 3 ]
    [[ "$output" == *"'brineband fit w' makes it" ]]
    "$BRINEBAND" fit w >/dev/null
    touch -d '+2 seconds' w/sweeps.csv
    run "$BRINEBAND" predict w
    [ "$status" -eq 0 ]
    [[ "$output" == *"w/sweeps.csv is newer than its profile"* ]]
}

@test "a profile that says nonsense ends with 3 and its place" {
    sed 's/"scale_high": 50/"scale_high": -50/' v/profile.json >bad.json
    run "$BRINEBAND" predict bad.json
    [ "$status" -eq 3 ]
    [[ "$output" == bad.json:*": found "*", accepted "* ]]
}

@test "each what-if outside the model's range is refused, with what is accepted" {
    while IFS='|' read -r option value accepted; do
        run "$BRINEBAND" predict v "--$option" "$value" --target bead --zone wet --depth 5
        [ "$status" -eq 2 ]
        [ "$output" = "brineband: predict: --$option: found '$value', accepted $accepted" ]
    done <<'END'
frequency|0.4|0.5 to 200 kHz (or Hz)
frequency|201|0.5 to 200 kHz (or Hz)
coil-diameter|4|5 to 150 cm (or mm, m)
coil-diameter|151|5 to 150 cm (or mm, m)
height|0.4|0.5 to 100 cm (or mm, m)
height|101|0.5 to 100 cm (or mm, m)
salinity|-1|0 to 42
salinity|43|0 to 42
temperature|-3|-2 to 35 C (or °C)
temperature|36|-2 to 35 C (or °C)
saturation|1.1|0 to 1 (or %)
dry-layer|201|0 to 200 cm (or mm, m)
years|1001|0 to 1000
END
    run "$BRINEBAND" predict v --years 20 --target bead --zone wet --depth 5
    [ "$status" -ne 0 ]
    [[ "${output//$'\n'/ }" == *"years in the sand can be asked only after an aged piece"*"was swept"* ]]
}
