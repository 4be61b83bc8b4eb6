#!/usr/bin/env bash
# The Debian packages of the build given: what is in them, and that it runs from where it is unpacked.
# tests/clean_root.sh installs them in a clean root.
set -euo pipefail
build=$1 source=$2
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
{ command -v dpkg-shlibdeps && command -v file; } >/dev/null || { echo "needs the packages dpkg-dev and file"; exit 77; }

(cd "$room" && cpack -G DEB --config "$build/CPackConfig.cmake" >/dev/null)
command=$(ls "$room"/lowhiss_*.deb) development=$(ls "$room"/lowhiss-dev_*.deb)
dpkg-deb --field "$command" Package Version Depends Recommends
dpkg-deb --field "$command" Depends | grep -q libspdlog
dpkg-deb --field "$command" Recommends | grep -q gnuplot
dpkg-deb -x "$command" "$room/root"
for file in bin/lowhiss share/man/man1/lowhiss.1 share/bash-completion/completions/lowhiss \
    share/zsh/vendor-completions/_lowhiss share/fish/vendor_completions.d/lowhiss.fish \
    share/doc/lowhiss/copyright share/doc/lowhiss/README.md share/doc/lowhiss/netlists/README.md \
    share/lowhiss/netlists/boards/heron-c.toml; do
    [ -s "$room/root/usr/$file" ] || { echo "FAILED: no $file"; exit 1; }
done
"$room/root/usr/bin/lowhiss" --version | grep -q "^lowhiss [0-9]"
diff <("$room/root/usr/bin/lowhiss" sweep "$room/root/usr/share/lowhiss/netlists/boards/heron-c.toml") \
    <("$build/cli/lowhiss" sweep "$source/netlists/boards/heron-c.toml")
dpkg-deb --contents "$development" >"$room/contents"
grep -q "include/lowhiss/board/board.hpp" "$room/contents"
grep -q "liblowhiss_engine.a" "$room/contents"
