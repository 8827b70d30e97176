# Sourced by the scripts that see to a program from the system's packages. The caller defines found(), which says
# whether the program is there, and names its package, what it is for, and what is said where it is missing.
# Never fails: without the program its tests are skipped, and this says so.

say() { printf '\n*** %s\n\n' "$*" >&2; }

install_package() {
    package=$1 purpose=$2 missing=$3 advice=$4
    found && return 0
    if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null 2>&1; then
        say "$missing $advice"
        return 0
    fi
    echo "installing $package for $purpose ..." >&2
    export DEBIAN_FRONTEND=noninteractive
    if ! { timeout 300 apt-get -qq update &&
        timeout 900 apt-get -qq install -y --no-install-recommends "$package"; } >/dev/null 2>&1; then
        say "$package could not be installed from the system's packages."
    fi
    found || say "$missing"
}
