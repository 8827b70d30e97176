#!/bin/sh
# Sees to it that the browser tests find a Chromium, where this machine lets us install one.
# Never fails: without a browser those tests are skipped, and this says so.
set -u

say() { printf '\n*** %s\n\n' "$*" >&2; }

found() {
    for name in chromium chromium-browser google-chrome; do
        command -v "$name" >/dev/null 2>&1 && return 0
    done
    return 1
}

found && exit 0
if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null 2>&1; then
    say "NO BROWSER: the browser tests will be SKIPPED. Install Chromium to run them."
    exit 0
fi
echo "installing Chromium for the browser tests ..." >&2
export DEBIAN_FRONTEND=noninteractive
if ! { timeout 300 apt-get -qq update &&
    timeout 900 apt-get -qq install -y --no-install-recommends chromium; } >/dev/null 2>&1; then
    say "Chromium could not be installed from the system's packages."
fi
found || say "NO BROWSER: the browser tests will be SKIPPED."
exit 0
