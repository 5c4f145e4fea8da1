#!/bin/sh
# Runs the unit tests, the command tests, a short calibration, the integer program and what fails of one
# build: sh tests/run.sh BUILD
# The last line is "N passed, N failed".
set -u
build=$1
log=$(mktemp)
trap 'rm -f "$log"' EXIT
export LSAN_OPTIONS="suppressions=$PWD/tests/leaks.supp:print_suppressions=0"

timeout 2400 "$build/unit" >"$log" 2>&1
code=$?
cat "$log"
if line=$(grep '^unit: [0-9]* passed, [0-9]* failed$' "$log"); then
    passed=$(echo "$line" | cut -d' ' -f2)
    failed=$(echo "$line" | cut -d' ' -f4)
    [ "$code" -eq 0 ] || [ "$failed" -gt 0 ] || failed=1 # a sanitizer spoke after the last test
else
    echo "the unit tests ended early, with exit status $code"
    passed=0 failed=1
fi

BRINEBAND=$(realpath "$build/brineband") bats --tap tests/cli tests/install >"$log" 2>&1
code=$?
grep -v '^ok ' "$log"
ok=$(grep -c '^ok ' "$log")
not_ok=$(grep -c '^not ok ' "$log")
planned=$(sed -n 's/^1\.\.\([0-9]*\)$/\1/p' "$log")
lost=$((${planned:-1} - ok - not_ok)) # planned but never reported
[ "$code" -eq 0 ] || [ $((not_ok + lost)) -gt 0 ] || lost=1
echo "command: $ok passed, $((not_ok + lost)) failed"

"$build/calibration" --check --visits 8 >"$log" 2>&1
code=$?
cat "$log"
holds=$(sed -n 's/^calibration: \([0-9]*\) passed.*/\1/p' "$log")
broken=$(sed -n 's/^calibration: .* \([0-9]*\) failed$/\1/p' "$log")
[ "$code" -eq 0 ] || [ "${broken:-0}" -gt 0 ] || broken=1 # ended early

# Debian's own Python sees Debian's SciPy; it cannot load a library with sanitizers.
python=/usr/bin/python3
solved=0 unsolved=0
if nm -D "$build/libbrineband.so" | grep -q __asan_init || ! $python -c 'import scipy' 2>/dev/null
then
    echo "integer program: left out"
else
    $python tests/integer_program/compare.py "$build/libbrineband.so" >"$log" 2>&1
    code=$?
    cat "$log"
    solved=$(sed -n 's/^integer program: \([0-9]*\) passed.*/\1/p' "$log")
    unsolved=$(sed -n 's/^integer program: .* \([0-9]*\) failed$/\1/p' "$log")
    [ "$code" -eq 0 ] || [ "${unsolved:-0}" -gt 0 ] || unsolved=1 # ended early
fi

# Sanitizers bring an allocator of their own, which cannot be made to fail from outside.
withstood=0 yielded=0
if nm -D "$build/libbrineband.so" | grep -q __asan_init; then
    echo "failure: left out"
else
    bash tests/failure/run.sh "$build" short >"$log" 2>&1
    code=$?
    cat "$log"
    withstood=$(sed -n 's/^failure: \([0-9]*\) passed.*/\1/p' "$log")
    yielded=$(sed -n 's/^failure: .* \([0-9]*\) failed$/\1/p' "$log")
    [ "$code" -eq 0 ] || [ "${yielded:-0}" -gt 0 ] || yielded=1 # ended early
fi

passed=$((passed + ok + ${holds:-0} + ${solved:-0} + ${withstood:-0}))
failed=$((failed + not_ok + lost + ${broken:-1} + ${unsolved:-1} + ${yielded:-1}))
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
