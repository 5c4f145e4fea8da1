#!/bin/sh
# Runs every fuzzer of one build and counts what it executed: sh tests/fuzz/run.sh BUILD AMOUNT [NAME...]
# AMOUNT: minutes each, or "short" for a fixed number of executions. What a fuzzer finds stays in
# BUILD/fuzz/NAME-*; the inputs that reached something new stay in BUILD/fuzz/NAME for the next run.
# The last line is "N passed, N failed".
set -u
build=$1 amount=$2
shift 2
[ $# -gt 0 ] || set -- $(cd tests/fuzz && ls fuzz_*.c | sed 's/^fuzz_//; s/\.c$//')
work=$build/fuzz
mkdir -p "$work"
# A large quarantine is slow with small inputs, and so is noting where each block was allocated: run
# the input that was found by itself to see that.
export ASAN_OPTIONS=quarantine_size_mb=4:malloc_context_size=0

# Executions of the short run: some two seconds each.
short() {
    case $1 in
    fit) echo 20 ;;
    stranger) echo 20 ;;
    profile) echo 1500 ;;
    *) echo 8000 ;;
    esac
}

# Bytes of the longest input: short ones are tried more often.
longest() {
    case $1 in
    profile | stranger) echo 16384 ;;
    *) echo 2048 ;;
    esac
}

rm -rf "$work/seeds"
/usr/bin/python3 tests/fuzz/seeds.py "$build/brineband" "$work/seeds" || exit 1
passed=0 failed=0
for name in "$@"; do
    mkdir -p "$work/$name"
    words=$name
    [ "$name" != stranger ] || words=profile
    set -- -artifact_prefix="$work/$name-" -print_final_stats=1 -timeout=60 \
        -rss_limit_mb=2048 -max_len="$(longest "$name")"
    [ ! -f "tests/fuzz/$words.dict" ] || set -- "$@" -dict="tests/fuzz/$words.dict"
    if [ "$amount" = short ]; then
        rm -rf "$work/$name" && mkdir "$work/$name"
        set -- "$@" -seed=1 -runs="$(short "$name")"
    else
        set -- "$@" -max_total_time=$((amount * 60))
    fi
    if "$build/fuzz_$name" "$@" "$work/$name" "$work/seeds/$name" >"$work/$name.log" 2>&1; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        tail -40 "$work/$name.log"
    fi
    sed -n "s/^stat::number_of_executed_units: */$name: executions /p" "$work/$name.log"
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
