#!/bin/sh
# Writes the lock files of requirements/: exact versions with hashes, the same on every system.
# Usage: tools/lock.sh UV      (UV is the uv program; `make lock` passes its own)
set -eu
uv="$1"
cd "$(dirname "$0")/.."
lock() {
    target="$1"
    shift
    printf '# Written by `make lock`. Exact versions with hashes for every system.\n' > "$target.new"
    "$uv" pip compile "$@" --universal --python-version 3.11 --generate-hashes --no-annotate \
        --no-header --no-emit-index-url --no-emit-find-links --quiet >> "$target.new"
    if grep -n "://" "$target.new"; then
        echo "lock: $target.new names a host; nothing was changed" >&2
        rm -f "$target.new"
        exit 1
    fi
    mv "$target.new" "$target"
    echo "wrote $target ($(grep -c '==' "$target") packages)"
}
lock requirements/build.txt requirements/build.in
# From the widest set to the narrowest, so that each holds the versions of the one before.
lock requirements/dev.txt pyproject.toml --extra test --extra dev
lock requirements/test.txt pyproject.toml --extra test --constraint requirements/dev.txt
lock requirements/run.txt pyproject.toml --constraint requirements/dev.txt
