#!/bin/sh
# Runs the demo visit with a built brineband: sh cli/demo/demo.sh BUILD/brineband
set -eu
brineband=$1
visit=$(dirname "$brineband")/demo
rm -rf "$visit"
cp -r cli/demo/skarra-strand "$visit"
"$brineband" fit "$visit" >/dev/null
"$brineband" "$visit"
cat <<END

An invented beach, in $visit. Change a number in its sweeps.csv, then:
  $brineband $visit
Your own beach:
  $brineband new mybeach
END
