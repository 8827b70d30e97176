#!/bin/sh
# Sees to it that the browser tests find a Chromium, where this machine lets us install one.
set -u
. "$(dirname "$0")/system-package.sh"

found() {
    for name in chromium chromium-browser google-chrome; do
        command -v "$name" >/dev/null 2>&1 && return 0
    done
    return 1
}

install_package chromium "the browser tests" \
    "NO BROWSER: the browser tests will be SKIPPED." "Install Chromium to run them."
exit 0
