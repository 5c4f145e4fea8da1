#!/bin/bash
# The same input gives the same bytes whenever it is run, and the same numbers to 1e-9 whichever
# compiler and optimisation made the program: bash tests/same.sh BUILD
set -eu
build=$1
runs=$build/same
visit=tests/data/full
rm -rf "$runs"
mkdir -p "$runs"

# outputs PROGRAM FOLDER: what every command that computes says of one visit.
outputs() {
    mkdir -p "$2/visit"
    cp "$visit"/*.ini "$visit"/*.csv "$2/visit"
    (
        cd "$2"
        "$1" fit visit --json >fit.json
        "$1" reject visit --json >reject.json || [ $? -eq 4 ]
        "$1" predict visit --json >predict.json
        "$1" judge visit 40 --zone wet --json >judge.json
        "$1" merge visit -o club.json >merge.txt
        "$1" fit visit --prior club.json --json >again.json
    )
}

passed=0 failed=0
count() {
    if [ "$1" -eq 0 ]; then passed=$((passed + 1)); else failed=$((failed + 1)); fi
}

for compiler in gcc clang; do
    for level in 0 3; do
        name=$compiler-O$level
        make --no-print-directory --silent --jobs="$(nproc)" CC=$compiler BUILD="$build/$name" CFLAGS="-O$level" all >"$runs/log" 2>&1 ||
            { cat "$runs/log"; exit 1; }
        program=$(realpath "$build/$name/brineband")
        outputs "$program" "$runs/$name"
        outputs "$program" "$runs/again"
        code=0
        diff -r "$runs/$name" "$runs/again" >"$runs/log" || code=1
        echo "$name twice: $([ $code -eq 0 ] && echo "the same bytes" || echo differs)"
        count $code
        rm -r "$runs/again"
    done
done

for name in gcc-O3 clang-O0 clang-O3; do
    code=0
    ${PYTHON:-/usr/bin/python3} tests/same.py "$runs/gcc-O0" "$runs/$name" || code=1
    count $code
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
