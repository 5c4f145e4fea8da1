#!/bin/sh
# Runs the unit tests, the command tests and what fails of a build made with
# gcc's --coverage, and prints which lines and branches of lib and cli were taken:
# sh tests/coverage.sh BUILD. What is not covered is listed in BUILD/uncovered.txt.
set -u
build=$1
root=$PWD
"$build/unit" >"$build/unit.log" 2>&1 || tail -5 "$build/unit.log"
BRINEBAND=$(realpath "$build/brineband") bats --tap tests/cli >"$build/bats.log" 2>&1
grep '^not ok' "$build/bats.log"
bash tests/failure/run.sh "$build" distinct >"$build/failure.log" 2>&1 || tail -5 "$build/failure.log"
for part in lib cli; do
    gcovr --root "$root" --filter "$part/" --exclude ".*generate/" --exclude-unreachable-branches \
        --exclude-throw-branches --json "$build/coverage-$part.json" "$build/$part" >/dev/null || exit 1
    gcovr --root "$root" -a "$build/coverage-$part.json" --txt "$build/lines-$part.txt" >/dev/null
    gcovr --root "$root" -a "$build/coverage-$part.json" --branches --txt "$build/branches-$part.txt" \
        >/dev/null
done
cat "$build/lines-lib.txt" "$build/branches-lib.txt" "$build/lines-cli.txt" "$build/branches-cli.txt" \
    >"$build/uncovered.txt"
for part in lib cli; do
    for of in lines branches; do
        echo "$part: $of $(sed -n 's/^TOTAL *//p' "$build/$of-$part.txt")"
    done
done
