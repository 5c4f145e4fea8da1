# What make install puts where, and that programs in C and C++ can be built against it.

load staged

setup_file() { stage_installation; }
setup() { cd "$BATS_TEST_TMPDIR"; }

@test "exactly these files are installed, and none is left by uninstall" {
    (cd "$stage" && find . ! -type d | LC_ALL=C sort) >installed
    commands=$("$BRINEBAND" help | awk '/^  [a-z]+ / && $1 != "help" { print $1 }')
    {
        cat
        echo ./opt/sea/share/bash-completion/completions/brineband
        for name in $commands; do echo "./opt/sea/share/man/man1/brineband-$name.1"; done
        printf './opt/sea/share/man/%s\n' man1/brineband.1 man3/libbrineband.3 \
            man5/brineband-profile.5 man5/brineband-visit.5
        echo ./opt/sea/share/zsh/site-functions/_brineband
    } <<'END' | LC_ALL=C sort | diff - installed
./opt/sea/bin/brineband
./opt/sea/include/brineband.h
./opt/sea/lib/any/libbrineband.a
./opt/sea/lib/any/libbrineband.so
./opt/sea/lib/any/libbrineband.so.0
./opt/sea/lib/any/pkgconfig/brineband.pc
END
    cp -a "$stage" again
    make_here uninstall DESTDIR="$PWD/again" PREFIX=/opt/sea LIBDIR=/opt/sea/lib/any
    [ -z "$(find again ! -type d)" ]
}

@test "the shared library is found by its soname, which is no version" {
    objdump -p "$stage/opt/sea/lib/any/libbrineband.so" >about
    grep -q '^ *SONAME *libbrineband.so.0$' about
    [ "$(readlink "$stage/opt/sea/lib/any/libbrineband.so")" = libbrineband.so.0 ]
}

@test "the exported names are those of lib/debian/libbrineband0.symbols and of the header" {
    nm -D --defined-only --with-symbol-versions "$stage/opt/sea/lib/any/libbrineband.so" |
        awk '$2 != "A" { sub(/@@/, "@", $3); print $3 }' | grep -v '^__\|^_asan\|^___' |
        LC_ALL=C sort >exported
    awk '/^ bb_/ { print $1 }' "$root/lib/debian/libbrineband0.symbols" | LC_ALL=C sort | diff - exported
    tr '\n' ' ' <"$root/include/brineband.h" | grep -o 'BB_API [^;#]*;' |
        sed 's/(.*//; s/.*[ *]//; s/$/@BRINEBAND_0/' | LC_ALL=C sort | diff - exported
}

@test "the static library shares no name with its user that does not begin with bb_" {
    skip_when_sanitized
    nm -g --defined-only "$stage/opt/sea/lib/any/libbrineband.a" >names 2>/dev/null
    run awk 'NF == 3 && $3 !~ /^bb_/' names
    [ -z "$output" ]
}

@test "the library prints nothing, opens nothing, ends no program and reads no clock" {
    skip_when_sanitized
    nm -D -u "$stage/opt/sea/lib/any/libbrineband.so" | awk '{ sub(/@.*/, "", $2); print $2 }' >needed
    grep -qx snprintf needed
    run grep -xE '(v?f?printf|v?dprintf|f?puts|f?putc|putchar|perror|fwrite|write|std(in|out|err)|f?open|freopen|abort|_?exit|__assert_fail|getenv|setlocale|s?rand|time|clock|__errno_location)(64)?' needed
    [ -z "$output" ]
}

@test "pkg-config tells version, place and what a static link needs" {
    [ "$(pkg-config --modversion brineband)" = "$(sed -n 's/.*BB_VERSION "\(.*\)"/\1/p' "$root/include/brineband.h")" ]
    [[ "$(pkg-config --cflags brineband) " == "-I$stage/opt/sea/include "* ]]
    [ "$(pkg-config --libs brineband | xargs)" = "-L$stage/opt/sea/lib/any -lbrineband" ]
    for part in -lgsl -ljansson -linih -lcsv -lm; do
        [[ "$(pkg-config --static --libs brineband) " == *" $part "* ]]
    done
}

@test "moved as a whole, it is still found by pkg-config" {
    make_here install DESTDIR="$PWD/first" PREFIX=/usr/local
    mv first/usr/local moved
    unset PKG_CONFIG_SYSROOT_DIR
    export PKG_CONFIG_PATH=$PWD/moved/lib/pkgconfig
    [[ "$(pkg-config --define-prefix --cflags brineband) " == "-I$PWD/moved/include "* ]]
    [ "$(pkg-config --define-prefix --libs brineband | xargs)" = "-L$PWD/moved/lib -lbrineband" ]
}

# One program that is both C and C++.
user() {
    cat <<'END'
#include <brineband.h>
int main(void) {
    double sigma;
    return bb_water_conductivity(35, 15, &sigma, NULL) || sigma < 4.28 || sigma > 4.30;
}
END
}

@test "a program in C is built against it, shared and static" {
    skip_when_sanitized
    user >user.c
    cc -std=c99 -Wall -Wextra -pedantic -Werror $(pkg-config --cflags brineband) user.c $(pkg-config --libs brineband) -o user
    ./user
    cc -std=c11 -Wall -Wextra -pedantic -Werror $(pkg-config --cflags brineband) user.c \
        "$stage/opt/sea/lib/any/libbrineband.a" $(pkg-config --static --libs brineband | sed 's/-lbrineband//') -o static
    env -u LD_LIBRARY_PATH ./static
}

@test "a program in C++ is built against it" {
    skip_when_sanitized
    user >user.cpp
    g++ -std=c++11 -Wall -Wextra -pedantic -Werror $(pkg-config --cflags brineband) user.cpp $(pkg-config --libs brineband) -o user
    ./user
}

@test "the header needs nothing included before it, and may be included twice" {
    printf '#include <brineband.h>\n#include <brineband.h>\n' >twice.c
    cc -std=c99 -Wall -Wextra -pedantic -Werror $(pkg-config --cflags brineband) -fsyntax-only twice.c
    g++ -x c++ -std=c++11 -Wall -Wextra -pedantic -Werror $(pkg-config --cflags brineband) -fsyntax-only twice.c
}

@test "the command needs nothing that the shared library does not export" {
    skip_when_sanitized
    make_here "$PWD/brineband" BUILD="$PWD" TOOL_LIBRARY="$stage/opt/sea/lib/any/libbrineband.so" CLI_OBJECTS="$(echo "$build"/cli/*.o)"
    objdump -p brineband | grep -q 'NEEDED *libbrineband.so.0'
    ./brineband sand --salinity 35 --temperature 15 --frequency 7 --coil-diameter 28 --height 5 >answer
    "$BRINEBAND" sand --salinity 35 --temperature 15 --frequency 7 --coil-diameter 28 --height 5 | diff - answer
}
