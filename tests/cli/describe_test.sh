#!/usr/bin/env bash
# The manual page and the completions come from the command's own definition: nothing is missing, and
# shells and formatters, if installed, accept them.
source "$(dirname "${BASH_SOURCE[0]}")/support.sh"
lowhiss=$1
sed -n '/^## Options/,/^## Exit status/p' "$2/cli/README.md" >"$room/readme"
for what in man bash zsh fish; do
    expect 0 "" "$lowhiss" describe $what --output "$room/$what"
    require [ -s "$room/$what" ]
done
expect 2 "fsh not in" "$lowhiss" describe fsh
has() { command -v "$1" >/dev/null || { echo "no $1: not tried"; false; }; }

# Every command and option in --help is in all of them.
commands=$("$lowhiss" --help | sed -n '/^Subcommands:/,$s/^  \([a-z]\+\) .*/\1/p')
require [ "$(wc -w <<<"$commands")" -ge 8 ]
for command in $commands; do
    for option in $("$lowhiss" "$command" --help | grep -o '^  \(-h,\)\?--[a-z-]*' | grep -o -- '--.*'); do
        name=${option#--}
        require grep -qF -- "$name" "$room/bash"
        require grep -qF -- "$option[" "$room/zsh"
        require grep -q -- "seen_subcommand_from $command' -l $name " "$room/fish"
        require grep -qF -- "${option//-/\\-}" "$room/man"
        [ "$option" = --help ] || require grep -qF -- "$option" "$room/readme"
    done
    for what in man bash zsh fish readme; do require grep -qw "$command" "$room/$what"; done
done
# The README documents no option that does not exist.
for option in $(grep -o -- '--[a-z][a-z-]*' "$room/readme" | sort -u); do
    require grep -qF -- "$option" "$room/bash"
done

if has groff; then
    groff -man -Tutf8 -P-cbou -ww "$room/man" >"$room/page" 2>"$room/err"
    require [ ! -s "$room/err" ]
    require grep -q "EXIT STATUS" "$room/page"
fi

# offers TEXT WORD...: the shell completes the last word to TEXT.
cat >"$room/complete.bash" <<'BASH'
source "$1"
shift
COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))
compopt() { :; }
_lowhiss
printf '%s\n' "${COMPREPLY[@]}"
BASH
offers() {
    local wanted=$1
    shift
    grep -qxF -- "$wanted" <(bash "$room/complete.bash" "$room/bash" "$@") ||
        { echo "FAILED: bash does not offer '$wanted' for $*"; failures=$((failures + 1)); }
    has fish || return
    grep -q -- "^$wanted\b" <(HOME=$room fish -c "source $room/fish; complete -C '$*'") ||
        { echo "FAILED: fish does not offer '$wanted' for $*"; failures=$((failures + 1)); }
}
cd "$room" || exit 1
touch heron.toml
offers sweep lowhiss sw
offers tolerance lowhiss ""
offers --junit lowhiss check --ju
offers never lowhiss sweep --color n
offers normal lowhiss tolerance --spread ""
offers heron.toml lowhiss sweep he
offers heron.toml lowhiss sweep --json he
offers fish lowhiss describe f

# zsh completes only in its line editor, so this tests only that it loads the file.
if has zsh; then
    require zsh -n "$room/zsh"
    zsh -fc "autoload -Uz compinit; compinit -u -d $room/dump; fpath=($room \$fpath)
        cp $room/zsh $room/_lowhiss; autoload -Uz _lowhiss; functions _lowhiss >/dev/null" ||
        { echo "FAILED: zsh does not load it"; failures=$((failures + 1)); }
fi
exit $((failures > 0))
