# The release: all that the checkout holds and nothing else, in the same bytes each time.

load staged

setup() {
    cd "$BATS_TEST_TMPDIR"
    version=$(sed -n 's/.*BB_VERSION "\(.*\)"/\1/p' "$root/include/brineband.h")
}

release() { # into $1; DIR of the tree to take it from in $2
    mkdir -p "$1"
    env -u MAKEFLAGS -u MAKELEVEL make --silent -C "$2" dist BUILD="$PWD/$1"
}

@test "the release is the same each time, and from a release itself" {
    release first "$root"
    umask 077
    sleep 1
    tar -xzf "first/brineband-$version.tar.gz" --touch
    release second "brineband-$version"
    cmp first/*.tar.gz second/*.tar.gz
}

@test "the release holds what git keeps" {
    [ -e "$root/.git" ] && command -v git >/dev/null || skip "no checkout, or no git"
    release first "$root"
    tar -tzf first/*.tar.gz >held
    git -C "$root" ls-files | sed "s|^|brineband-$version/|" | LC_ALL=C sort | diff - held
}

@test "the changelog of the packages names the version of the header" {
    head -n 1 "$root/lib/debian/changelog" | grep -q "^brineband ($version-[0-9]*) "
}
