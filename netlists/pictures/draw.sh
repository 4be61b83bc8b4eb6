#!/usr/bin/env bash
# Draws the pictures of this folder again; the text of each drawing is kept beside it.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
for kind in dot svg; do
    "${LOWHISS_BUILD_DIR:-build}/cli/lowhiss" inspect netlists/boards/heron-c.toml --quiet \
        --graph "netlists/pictures/heron-c.$kind"
done
