# A staged installation for the tests of one file: $stage is its DESTDIR.

root=$(realpath "$BATS_TEST_DIRNAME/../..")
build=$(dirname "$BRINEBAND")

# What a developer types, without the goals and flags of the make that runs the tests.
make_here() { env -u MAKEFLAGS -u MAKELEVEL make --silent -C "$root" BUILD="$build" "$@"; }

# In setup_file: $stage gets what make install puts there.
stage_installation() {
    export stage=$BATS_FILE_TMPDIR/stage
    make_here install DESTDIR="$stage" PREFIX=/opt/sea LIBDIR=/opt/sea/lib/any
    export PKG_CONFIG_SYSROOT_DIR=$stage PKG_CONFIG_PATH=$stage/opt/sea/lib/any/pkgconfig
    export LD_LIBRARY_PATH=$stage/opt/sea/lib/any
}

# A program cannot be linked with a library that carries a sanitizer's checks unless it does too.
skip_when_sanitized() {
    ! nm -D "$build/libbrineband.so" | grep -q __asan_init || skip "sanitizer build"
}
