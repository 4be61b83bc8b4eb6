#!/usr/bin/env bash
# Builds and tests with the packages of another Debian release: tests/release.sh [SUITE], trixie unless
# said otherwise, in a root made by debootstrap. As root.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
suite=${1:-trixie}
root=$PWD/build-root/$suite
if [ ! -e "$root/etc/debian_version" ]; then
    mkdir -p build-root
    debootstrap --variant=minbase "$suite" "$root" http://deb.debian.org/debian >/dev/null
fi
mkdir -p "$root/lowhiss"
git ls-files -z --cached --others --exclude-standard | tar --null -T - -cf - | tar -xf - -C "$root/lowhiss"
mountpoint -q "$root/proc" || mount -t proc proc "$root/proc"
mountpoint -q "$root/dev/pts" || mount -t devpts devpts "$root/dev/pts"
trap 'umount "$root/proc" "$root/dev/pts"' EXIT
chroot "$root" env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root TERM=dumb LC_ALL=C.UTF-8 \
    bash -c 'cd /lowhiss && g++ --version 2>/dev/null | head -n 1; bash tests/run.sh'
