#!/bin/sh
# Times, each beside a peer in the same run: sh tests/bench/run.sh BUILD
set -eu
slower=0
build=$1
brineband=$build/brineband
python=/usr/bin/python3 # Debian's own: it sees Debian's NumPy and SciPy
visit=$build/bench
rm -rf "$visit"
cp -r cli/demo/skarra-strand "$visit"

cc -O2 -std=c11 -Iinclude -o "$build/bench_physics" tests/bench/bench_physics.c \
    "$build/libbrineband.a" $(pkg-config --libs gsl jansson inih) -lcsv -lm
"$build/bench_physics" | $python tests/bench/physics_peer.py

echo
$python tests/bench/fit_peer.py "$brineband" "$visit"
for targets in 8 16; do
    hour=$build/bench_hour/$targets
    rm -rf "$hour"
    $python tests/bench/invented.py "$brineband" "$hour" "$targets" 150
    $python tests/bench/fit_peer.py "$brineband" "$hour"
done

echo
$python tests/bench/plan_peer.py "$brineband" "$visit"

echo
$python tests/bench/merge_peer.py "$brineband" "$visit" "$build/bench_club"

echo
$python tests/bench/bands_peer.py "$build/libbrineband.so"

echo
rm -rf "$build/growth"
$python tests/bench/growth.py "$brineband" "$build/growth"

echo
$python - "$brineband" "$visit" <<'END'
# Whole-process time and peak memory of the main commands on the demo visit.
import os, subprocess, sys, time
brineband, visit = sys.argv[1:]
for words in (["fit", visit], ["reject", visit], ["predict", visit, "--json"]):
    least, peak = float("inf"), 0
    for _ in range(20):
        began = time.perf_counter()
        run = subprocess.Popen([brineband, *words], stdout=subprocess.DEVNULL)
        usage = os.wait4(run.pid, 0)[2]
        least = min(least, time.perf_counter() - began)
        peak = max(peak, usage.ru_maxrss)
    print(f"{words[0]:8} {1e3 * least:6.1f} ms  {peak / 1024:5.1f} MB at most")
END

echo
sh tests/bench/instructions.sh "$brineband" "$build" || slower=1

echo
# A season's archive of a club. SWEEPS=1000000 is shorter.
for times in "" timed; do
    # shellcheck disable=SC2086
    $python tests/bench/archive.py tests/data/full "$build/archive" "${SWEEPS:-10000000}" $times
    $python tests/bench/ingest_peer.py "$brineband" "$build/archive"
done
exit "$slower" # more instructions than recorded
