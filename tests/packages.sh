#!/bin/sh
# Installs the Debian packages of the named sets that are missing: sh tests/packages.sh SET...
# Says what it installs; where it may not install, prints the line to run and ends with 1.
set -eu

build='make gcc libc6-dev pkg-config libgsl-dev libjansson-dev libcsv-dev libinih-dev
       libcairo2-dev libpango1.0-dev fonts-dejavu-core'
tests='check bats g++ jq mandoc poppler-utils zsh binutils
       python3 python3-jsonschema python3-numpy python3-scipy'
sanitizers='clang libclang-rt-14-dev'
reference='doxygen'
package='dpkg-dev debhelper lintian'
bench='python3 python3-numpy python3-scipy python3-pandas r-cran-data.table
       r-cran-metafor r-cran-minpack.lm valgrind'
lint='clang-tidy cppcheck valgrind'
coverage='gcovr'

wanted=
for set in "$@"; do
    case $set in
    build) wanted="$wanted $build" ;;
    tests) wanted="$wanted $tests" ;;
    sanitizers) wanted="$wanted $sanitizers" ;;
    reference) wanted="$wanted $reference" ;;
    package) wanted="$wanted $package" ;;
    bench) wanted="$wanted $bench" ;;
    lint) wanted="$wanted $lint" ;;
    coverage) wanted="$wanted $coverage" ;;
    *) echo "packages.sh: found '$set', accepted build, tests, sanitizers, reference, package, bench, lint, coverage" >&2; exit 2 ;;
    esac
done

if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
    echo "No apt here. Needed, by their Debian names:" $wanted
    exit 0
fi
missing=
for package in $wanted; do
    state=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$state" = installed ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0

install="apt-get install -y --no-install-recommends$missing"
if [ "$(id -u)" -eq 0 ]; then
    as_root=
elif command -v sudo >/dev/null && { [ -t 0 ] || sudo -n true 2>/dev/null; }; then
    as_root=sudo
else
    echo "Missing packages. As root, run this line, then the same command again:" >&2
    echo "  apt-get update && $install" >&2
    exit 1
fi
echo "Installing:$missing"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
if ! { $as_root apt-get update && $as_root env DEBIAN_FRONTEND=noninteractive $install; } >"$log" 2>&1
then
    cat "$log" >&2
    echo "The packages could not be installed. The line that failed:" >&2
    echo "  apt-get update && $install" >&2
    exit 1
fi
