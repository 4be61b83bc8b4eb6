#!/usr/bin/env bash
# Installs the Debian packages in a clean root, as a user would, uses them and takes them out again:
# tests/clean_root.sh [SUITE], bookworm unless said otherwise. As root, with debootstrap.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
suite=${1:-bookworm}
build=${LOWHISS_BUILD_DIR:-build}
root=build-root/$suite

cmake --build "$build" -- --quiet
rm -f "$build"/*.deb
(cd "$build" && cpack -G DEB >/dev/null)
if [ ! -e "$root/etc/debian_version" ]; then
    mkdir -p build-root
    debootstrap --variant=minbase "$suite" "$root" http://deb.debian.org/debian >/dev/null
fi
cp "$build"/*.deb "$root/tmp/"
inside() { chroot "$root" env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root TERM=dumb LC_ALL=C.UTF-8 "$@"; }

inside sh -c 'apt-get update -qq && apt-get install -y -qq --no-install-recommends /tmp/lowhiss_*.deb' \
    >/dev/null 2>&1
inside lowhiss --version
inside lowhiss sweep /usr/share/lowhiss/netlists/boards/heron-c.toml >build-root/table
diff build-root/table <("$build/cli/lowhiss" sweep netlists/boards/heron-c.toml)
inside lowhiss check /usr/share/lowhiss/netlists/boards/heron-c.toml --quiet
inside sh -c 'set -e
    cd /usr/share
    for file in man/man1/lowhiss.1 bash-completion/completions/lowhiss doc/lowhiss/copyright \
        zsh/vendor-completions/_lowhiss fish/vendor_completions.d/lowhiss.fish; do
        [ -s $file ] || { echo "no $file"; exit 1; }
    done
    dpkg --verify lowhiss
    apt-get purge -y -qq lowhiss >/dev/null 2>&1
    ! find / -xdev \( -path /proc -o -path /tmp -o -path /var \) -prune -o -name "*lowhiss*" -print |
        grep .'
echo "lowhiss: installed, used and removed in a clean $suite"
