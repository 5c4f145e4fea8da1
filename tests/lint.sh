#!/bin/sh
# Reads the code with clang-tidy, cppcheck and gcc's analyzer: sh tests/lint.sh BUILD FLAGS FILE...
# What they may say and is not heard, with the reason: .clang-tidy, .cppcheck, .analyzer and NOLINT in
# the code. The last line is "lint: N passed, N failed".
set -u
build=$1 flags=$2
shift 2
log=$(mktemp)
trap 'rm -f "$log"' EXIT
passed=0 failed=0

judge() { # status, words
    if [ "$1" -eq 0 ]; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "lint: $2"
        cat "$log"
    fi
}

# shellcheck disable=SC2086
printf '%s\n' "$@" | xargs -P "$(nproc)" -I FILE clang-tidy --quiet FILE -- $flags >"$log" 2>/dev/null
judge $? "clang-tidy"

cppcheck -j "$(nproc)" --std=c11 --enable=warning,performance,portability --inconclusive \
    --suppressions-list=.cppcheck --quiet --error-exitcode=1 \
    -Iinclude -Ilib -I"$build/generated" -D_XOPEN_SOURCE=700 "$@" >"$log" 2>&1
judge $? "cppcheck"

# shellcheck disable=SC2016
printf '%s\n' "$@" | flags=$flags xargs -P "$(nproc)" -I FILE sh -c '
    unheard=$(sed -n "s|^$0 \([^ ]*\).*|\1|p" .analyzer)
    gcc $flags -O1 -fanalyzer $unheard -Werror -c -o /dev/null "$0"' FILE >"$log" 2>&1
judge $? "gcc -fanalyzer"

echo "lint: $passed passed, $failed failed"
[ "$failed" -eq 0 ]
