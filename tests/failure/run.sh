#!/bin/bash
# What the commands do when the system fails them: tests/failure/run.sh BUILD [short|distinct|all]
# short: a share of the allocations. distinct: one of each call stack. all: every one, hours.
# Every allocation, write, fsync, close and rename fails in turn, the disk is full, the process is
# killed while it writes. A command must end with 5 and a sentence, and a profile must be the old one
# or the new one, with nothing left beside it. The last line is "failure: N passed, N failed".
set -u
export LC_ALL=C
build=$(realpath "$1")
amount=${2:-short}
brineband=$build/brineband
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
passed=0 failed=0

judge() { # condition's status, words
    if [ "$1" -eq 0 ]; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "failure: not so: $2"
    fi
}

mkdir -p "$build/tests/failure"
cc -std=c11 -O1 -fPIC -shared -o "$build/tests/failure/fail.so" tests/failure/fail.c || exit 1

visit=$work/visit
cp -r tests/data/base "$visit"
"$brineband" fit "$visit" >"$work/out" || exit 1
cp "$visit/profile.json" "$work/new.json"
cp -r "$visit" "$work/again"
cp -r "$visit" "$work/day2" && echo air,band,5,41,,,,,, >>"$work/day2/sweeps.csv"
cp -r tests/data/undecided "$work/undecided"
"$brineband" fit "$work/day2" >"$work/out" || exit 1
cp -r tests/data/full "$work/other" && "$brineband" fit "$work/other" >/dev/null || exit 1
printf 'zone,reading,found\nwet,22,foil\nwet,,\nwet,30,nothing\n' | grep -v ',,$' >"$work/digs.csv"
printf 'zone,target,depth_cm,reading,times,heard\nwet,sand,,,80,no\nwet,sand,,12 13 12 14,,\n' >"$work/fresh.csv"

# ---- allocations

case $amount in
short) export FAIL_STACKS=1 FAIL_EVERY=16 ;;
distinct) export FAIL_STACKS=1 ;;
all) unset FAIL_STACKS ;;
esac

allocations() {
    local report=$work/report
    : >"$report"
    "$brineband" "$@" </dev/null >"$work/out" 2>/dev/null || { judge 1 "$* works at all"; return; }
    FAIL=allocations FAIL_STDOUT=$work/out FAIL_REPORT=$report \
        LD_PRELOAD=$build/tests/failure/fail.so "$brineband" "$@" </dev/null >/dev/null 2>&1
    grep -q '^[0-9]* tried, 0 complaints$' "$report"
    judge $? "$*: every allocation that fails ends with 5 and a sentence, or does no harm"
    grep -E 'complaints$|^allocation' "$report" | tail -5 | sed "s|^|  $1: |"
}

allocations fit "$visit"
allocations predict "$visit" --json
allocations merge "$visit/profile.json" "$work/other/profile.json" --any-machine -o "$work/club.json"
if [ "$amount" != short ]; then
    allocations fit "$visit" --json --verbose
    allocations fit "$work/undecided"
    allocations fit "$work/day2" --prior "$visit/profile.json"
    allocations merge "$visit/profile.json" "$work/day2/profile.json" -o "$work/club.json"
    allocations merge "$visit/profile.json" "$work/day2/profile.json" -o "$work/club.json" --json
    allocations predict "$visit"
    allocations reject "$visit"
    allocations reject "$visit" --json
    allocations check "$visit" "$work/fresh.csv"
    allocations check "$visit" "$work/fresh.csv" --json
    allocations judge "$visit" 22 --zone wet
    allocations judge "$visit" 22 --zone wet --json
    allocations digs "$visit" "$work/digs.csv"
    allocations digs "$visit" "$work/digs.csv" --json
    allocations history "$visit" "$work/again"
    allocations history "$visit" "$work/again" --json
    allocations practise "$visit" --only-kit --rounds 1 --seed 1 --json
    allocations predict "$visit" --frequency 14 --height 8
    allocations digs "$visit" "$work/digs.csv" --update "$work/rates.json" --replace
    allocations judge "$visit" 3 --zone wet --repeat 3 --only-kit
    allocations plan tests/data/base --count 6
    allocations plan "$visit" --minutes 30
    allocations plan "$visit" --count 6
    allocations plan "$visit" --count 6 --json
    allocations body --shape disc --diameter 20 --thickness 1.5 --material silver --frequency 7 --json
    allocations sand --salinity 34 --temperature 13 --frequency 7 --coil-diameter 28 --height 5 --json
    allocations "$visit"
fi

# ---- calls of the system, while a profile is replaced

# How the profile stands: old, new or half, and what lies beside it.
stands() {
    local beside
    beside=$(find "$visit" -name 'profile.json.*' | wc -l)
    if cmp -s "$visit/profile.json" "$work/old.json"; then echo "old $beside"
    elif cmp -s "$visit/profile.json" "$work/new.json"; then echo "new $beside"
    else echo "half $beside"; fi
}

# One fit over the old profile, the given failure in it.
replace() {
    rm -f "$visit"/profile.json* "$work/report"
    cp "$work/old.json" "$visit/profile.json"
    FAIL=$1 FAIL_REPORT=$work/report LD_PRELOAD=$build/tests/failure/fail.so \
        "$brineband" fit "$visit" >/dev/null 2>"$work/said"
}

cp "$work/other/profile.json" "$work/old.json"
for call in write fsync close rename; do
    for ((n = 1; ; n++)); do
        replace "$call:$n"
        code=$?
        [ -s "$work/report" ] || break
        case "$code $(stands) $(wc -l <"$work/said")" in
        "5 old 0 1" | "0 new 0 0") judge 0 "" ;;
        *) judge 1 "$call $n fails: ended with $code, profile and files beside it: $(stands)" ;;
        esac
    done
    [ $n -gt 1 ]
    judge $? "a fit calls $call"
done
for ((n = 1; ; n++)); do
    replace "kill:$n" 2>/dev/null
    [ -s "$work/report" ] || break
    [[ $(stands) == old* || $(stands) == new* ]]
    judge $? "killed at call $n: the profile is $(stands)"
done 2>/dev/null

# ---- killed at any moment

rm -f "$visit"/profile.json*
cp "$work/old.json" "$visit/profile.json"
halves=0
for ((n = 0; n < ($([ "$amount" = short ] && echo 20 || echo 500)); n++)); do
    { timeout -s KILL "0.0$((RANDOM % 5))$((RANDOM % 10))" "$brineband" fit "$visit"; } >/dev/null 2>&1
    [[ $(stands) == half* ]] && halves=$((halves + 1))
done 2>/dev/null
judge "$halves" "killed at random, the profile is never half"

# ---- full disks

for words in "predict $visit" "predict $visit --json" "--help" "--version"; do
    # shellcheck disable=SC2086
    "$brineband" $words >/dev/full 2>"$work/said"
    [ $? -eq 5 ] && [ "$(wc -l <"$work/said")" -eq 1 ] && grep -q 'standard output' "$work/said"
    judge $? "$words on a full disk ends with 5 and a sentence"
done
if unshare -rm true 2>/dev/null; then
    # shellcheck disable=SC2016
    unshare -rm sh -c 'mkdir "$1/full" && mount -t tmpfs -o size=64k none "$1/full" &&
        cp "$1/visit/"*.ini "$1/visit/"*.csv "$1/full" && cp "$1/old.json" "$1/full/profile.json"
        head -c 99999 /dev/zero >"$1/full/filler" 2>/dev/null
        "$2" fit "$1/full" 2>"$1/said"; code=$?
        [ "$code" = 5 ] && cmp -s "$1/old.json" "$1/full/profile.json" &&
            [ "$(ls "$1/full" | wc -l)" = 5 ]' sh "$work" "$brineband" >/dev/null
    judge $? "a fit on a full disk leaves the old profile and nothing beside it: $(cat "$work/said")"
fi

echo "failure: $passed passed, $failed failed"
[ "$failed" -eq 0 ]
