# shellcheck shell=bash
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
# Shared by examples/run and tests/run: installs Debian packages that are missing, and builds into build/, which git
# ignores. Sourced; the caller has set -u and $top, the folder of the clone.
# shellcheck disable=SC2034,SC2154 # the packages are for the caller, $top is the caller's

BUILD_PACKAGES="gcc libc6-dev binutils make cmake pkg-config libreadline-dev libpcre2-dev libutf8proc-dev libcsv-dev"
TEST_PACKAGES="python3 python3-icalendar python3-html5lib python3-markdown-it libcriterion-dev clang clang-format shellcheck mandoc"

jobs=$(nproc 2>/dev/null || echo 2)

fail() {
    printf '%s\n' "$*" >&2
    exit 1
}

# as_root COMMAND…: as it is for root, else through sudo. With neither, says what root would have to type.
as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif command -v sudo >/dev/null; then
        sudo "$@"
    else
        fail "packages are missing and this is neither root nor is there sudo; as root: apt-get install$missing"
    fi
}

is_installed() {
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null)" = installed ]
}

# need_packages PACKAGE…: apt is asked only when one is missing.
need_packages() {
    missing=""
    for package in "$@"; do
        is_installed "$package" || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    command -v apt-get >/dev/null || fail "this needs Debian's packages:$missing"
    echo "Installing$missing" >&2
    as_root env DEBIAN_FRONTEND=noninteractive timeout 300 \
        apt-get -q -o DPkg::Lock::Timeout=120 update >&2 || fail "apt-get update failed"
    # shellcheck disable=SC2086 # one word a package
    as_root env DEBIAN_FRONTEND=noninteractive timeout 900 \
        apt-get -q -y -o DPkg::Lock::Timeout=120 install --no-install-recommends $missing >&2 ||
        fail "apt-get could not install$missing"
}

# build_tree FOLDER CMAKE_OPTION…: configures and builds build/FOLDER; its messages are shown only when it fails.
build_tree() {
    local tree="$top/build/$1" log
    shift
    log="$tree/build.log"
    # A tree that another user built (after sudo, or copied) can be neither used nor cleared away.
    if [ -e "$tree" ] && [ -n "$(find "$tree" ! -writable -print -quit)" ]; then
        fail "cannot write to $tree: it was built by another user; remove it as that user, or with sudo"
    fi
    # A clone that was moved or copied starts afresh: CMake keeps absolute paths.
    if [ -f "$tree/CMakeCache.txt" ] && ! grep -qxF "CMAKE_HOME_DIRECTORY:INTERNAL=$top" "$tree/CMakeCache.txt"; then
        rm -rf "$tree"
    fi
    mkdir -p "$tree" 2>/dev/null || fail "cannot write to $tree"
    if ! timeout 120 cmake -S "$top" -B "$tree" "$@" >"$log" 2>&1 ||
        ! timeout 900 cmake --build "$tree" -j "$jobs" >>"$log" 2>&1; then
        grep -vE '^\[ *[0-9]+%\]|^\s*$' "$log" | tail -n 60 >&2
        return 1
    fi
}
