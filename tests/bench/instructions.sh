#!/bin/sh
# Counts the instructions of a fit and of reading by callgrind, which other work on the machine does
# not move, beside those recorded in tests/bench/instructions.txt:
# sh tests/bench/instructions.sh BRINEBAND BUILD [record]
# record writes them anew, after a change that is meant. They hold for x86-64 and gcc 12 -O3. Ends
# with 1 where one is more than 5 % above what is recorded.
set -eu
brineband=$1 build=$2 recorded=tests/bench/instructions.txt
found=$build/instructions.txt

count() { # name, program, its words
    name=$1
    shift
    valgrind --tool=callgrind --callgrind-out-file=/dev/null "$@" 2>&1 >/dev/null |
        sed -n "s/^.*Collected : */$name /p" >>"$found"
}

cc -O2 -std=c11 -Iinclude -o "$build/bench_ingest" tests/bench/bench_ingest.c \
    "$build/libbrineband.a" $(pkg-config --libs gsl jansson inih) -lcsv -lm
rm -rf "$build/counted" "$found"
cp -r cli/demo/skarra-strand "$build/counted"
count fit-demo "$brineband" fit "$build/counted"
/usr/bin/python3 tests/bench/archive.py tests/data/full "$build/counted" 100000
count read-100000 "$build/bench_ingest" "$build/counted"
/usr/bin/python3 tests/bench/archive.py tests/data/full "$build/counted" 100000 timed
count read-100000-timed "$build/bench_ingest" "$build/counted"

[ "${3:-}" != record ] || cp "$found" "$recorded"
awk 'NR == FNR { before[$1] = $2; next }
     { change = 100 * ($2 / before[$1] - 1)
       slower = slower || change > 5
       printf "%-18s %7.1f million instructions, recorded %7.1f: %+.1f %%%s\n", $1, $2 / 1e6,
              before[$1] / 1e6, change, (change > 5 ? "  SLOWER" : "") }
     END { exit slower }' "$recorded" "$found"
