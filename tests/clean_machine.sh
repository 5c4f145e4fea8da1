#!/bin/sh
# README's two commands on a machine that has nothing: a bare Debian 12 in a temporary folder, with
# a clone of what is committed here. As root: sh tests/clean_machine.sh [LOG]
# Needs debootstrap, git and a Debian mirror (MIRROR=...); takes some ten minutes.
set -eu
log=$(realpath -m "${1:-build/clean_machine.log}")
mirror=${MIRROR:-http://deb.debian.org/debian}
cd "$(dirname "$0")/.."
mkdir -p "$(dirname "$log")"
: >"$log"

machine=$(mktemp -d)
trap 'umount "$machine/proc" "$machine/dev/pts" 2>/dev/null || true; rm -rf "$machine"' EXIT
echo "A bare Debian 12 in $machine; the log is $log."
debootstrap --variant=minbase bookworm "$machine" "$mirror" >>"$log" 2>&1 ||
    { tail -n 5 "$log"; exit 1; }
cp /etc/resolv.conf "$machine/etc/resolv.conf"
mount -t proc proc "$machine/proc" # compilers and sanitizers look there
mount -t devpts devpts "$machine/dev/pts"
git -c advice.detachedHead=false clone --quiet --no-hardlinks . "$machine/root/brineband"

# The indented lines of README that fetch packages and make something.
grep '^    sh tests/packages.sh .*&& make ' README.md >"$machine/root/commands"
[ "$(wc -l <"$machine/root/commands")" -eq 2 ]

code=0
while IFS= read -r command; do
    command=${command#    }
    echo "\$ $command"
    began=$(date +%s)
    echo "\$ $command" >>"$log"
    chroot "$machine" env -i HOME=/root TERM=dumb PATH=/usr/sbin:/usr/bin:/sbin:/bin \
        sh -c "cd /root/brineband && $command" >>"$log" 2>&1 </dev/null && ended=0 || ended=$?
    tail -n 3 "$log"
    echo "exit status $ended after $(($(date +%s) - began)) s" | tee -a "$log"
    [ "$ended" -eq 0 ] || code=1
done <"$machine/root/commands"
exit $code
