#!/bin/sh
# Sees to it that the tests of the store find a PostgreSQL, where this machine lets us install one.
# The tests start a server of their own in a folder of its own. Never fails: without PostgreSQL those
# tests are skipped, and this says so.
set -u

say() { printf '\n*** %s\n\n' "$*" >&2; }

found() {
    command -v initdb >/dev/null 2>&1 && return 0
    for program in /usr/lib/postgresql/*/bin/initdb; do
        [ -x "$program" ] && return 0
    done
    return 1
}

found && exit 0
if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null 2>&1; then
    say "NO POSTGRESQL: the store is tested on SQLite only. Install PostgreSQL to test it on both."
    exit 0
fi
echo "installing PostgreSQL for the tests of the store ..." >&2
export DEBIAN_FRONTEND=noninteractive
if ! { timeout 300 apt-get -qq update &&
    timeout 900 apt-get -qq install -y --no-install-recommends postgresql; } >/dev/null 2>&1; then
    say "PostgreSQL could not be installed from the system's packages."
fi
found || say "NO POSTGRESQL: the store is tested on SQLite only."
exit 0
