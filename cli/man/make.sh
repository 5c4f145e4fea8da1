#!/bin/sh
# Writes the manual pages of a build into BUILD/man: sh cli/man/make.sh BUILD
# What the commands' own tables say comes from BUILD/manual, the rest from this folder.
set -eu
build=$1
from=cli/man into=$build/man
date=$(date -u -d "$(sed -n 's/^ -- .*>  //p' lib/debian/changelog | head -n 1)" +%F)
version=$(sed -n 's/.*BB_VERSION "\(.*\)"/\1/p' include/brineband.h)
mkdir -p "$into"

title() { # PAGE.SECTION KIND
    name=$(basename "$1" ".${1##*.}" | tr '[:lower:]' '[:upper:]')
    echo ".TH $name ${1##*.} \"$date\" \"brineband $version\" \"$2\""
}

"$build/manual" commands >"$into/commands.part"
"$build/manual" cautions >"$into/cautions.part"
{
    title brineband.1 'User commands'
    sed -e "/^@COMMANDS@\$/{r $into/commands.part" -e 'd}' \
        -e "/^@CAUTIONS@\$/{r $into/cautions.part" -e 'd}' "$from/brineband.1"
    cat "$from/ending.roff"
} >"$into/brineband.1"
rm "$into/commands.part" "$into/cautions.part"

for name in $("$build/manual" names); do
    page=brineband-$name.1
    {
        "$build/manual" page "$name" "$date"
        [ ! -e "$from/$page" ] || cat "$from/$page"
        cat "$from/ending.roff"
    } >"$into/$page"
done
for page in brineband-visit.5 brineband-profile.5; do
    { title $page 'File formats'; cat "$from/$page"; } >"$into/$page"
done
{
    title libbrineband.3 'Library functions'
    cat "$from/libbrineband.3"
    awk -f "$from/header.awk" include/brineband.h
    printf '.SH SEE ALSO\n.BR brineband (1),\n.BR brineband\\-profile (5)\n'
} >"$into/libbrineband.3"
