#!/bin/sh
# Runs the command tests with every brineband under valgrind: sh tests/valgrind.sh BUILD [TEST...]
# What valgrind may say and is not heard, with the reason: tests/valgrind.supp.
# The last line is "valgrind: N runs, N with findings".
set -u
build=$(realpath "$1")
shift
[ $# -gt 0 ] || set -- tests/cli
logs=$build/valgrind
rm -rf "$logs"
mkdir -p "$logs"
cat >"$logs/brineband" <<END
#!/bin/sh
exec valgrind --quiet --log-file="$logs/%p.log" --leak-check=full --show-leak-kinds=definite \\
    --errors-for-leak-kinds=definite --suppressions="$PWD/tests/valgrind.supp" "$build/brineband" "\$@"
END
chmod +x "$logs/brineband"
BRINEBAND=$logs/brineband bats --tap "$@" | grep -v '^ok '
runs=$(find "$logs" -name '*.log' | wc -l)
found=$(find "$logs" -name '*.log' -size +0 | wc -l)
find "$logs" -name '*.log' -size +0 -exec cat {} +
echo "valgrind: $runs runs, $found with findings"
[ "$runs" -gt 0 ] && [ "$found" -eq 0 ]
