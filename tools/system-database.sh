#!/bin/sh
# Sees to it that the tests of the store find a PostgreSQL, where this machine lets us install one.
# The tests start a server of their own in a folder of its own.
set -u
. "$(dirname "$0")/system-package.sh"

found() {
    command -v initdb >/dev/null 2>&1 && return 0
    for program in /usr/lib/postgresql/*/bin/initdb; do
        [ -x "$program" ] && return 0
    done
    return 1
}

install_package postgresql "the tests of the store" \
    "NO POSTGRESQL: the store is tested on SQLite only." "Install PostgreSQL to test it on both."
exit 0
