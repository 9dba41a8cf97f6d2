#!/bin/bash
# SPDX-License-Identifier: MIT
# Installs what building and testing needs on Debian 12, and finds a folder to build in; run.sh and sim/demo.sh source it.
#
# Run directly: tests/install.sh build|tests|all. Nothing is fetched when nothing is missing.

packages_build=(gcc libc6-dev cmake ninja-build pkg-config libmodbus-dev libyaml-dev libjansson-dev libmd-dev libsqlite3-dev)
packages_tests=(libcmocka-dev python3 python3-pymodbus python3-serial python3-serial-asyncio units)
packages_all=(clang libclang-rt-14-dev clang-format clang-tidy valgrind gcovr python3-jsonschema python3-prometheus-client libxml2-utils
    locales tshark chromium poppler-utils fonts-dejavu-core)
# Debian's, where there is no other: a Node.js from elsewhere brings its own npm, which Debian's would stand against.
command -v node >/dev/null || packages_all+=(nodejs)
command -v npm >/dev/null || packages_all+=(npm)

# packages_of TIER: each tier holds the one before it.
packages_of()
{
    case $1 in
    build) printf '%s\n' "${packages_build[@]}" ;;
    tests) printf '%s\n' "${packages_build[@]}" "${packages_tests[@]}" ;;
    all) printf '%s\n' "${packages_build[@]}" "${packages_tests[@]}" "${packages_all[@]}" ;;
    *)
        echo "install.sh: unknown tier '$1'; expected build, tests or all" >&2
        return 64
        ;;
    esac
}

packages_missing()
{
    local package
    for package in $(packages_of "$1"); do
        # shellcheck disable=SC2016 # the dollar is dpkg-query's own
        [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || echo "$package"
    done
}

# install_packages TIER: installs what is missing; says what to do where it may not.
install_packages()
{
    local missing as_root=()
    packages_of "$1" >/dev/null || return
    if ! command -v dpkg-query >/dev/null; then
        echo "install.sh: no dpkg here, so nothing is installed; the Debian packages are: $(packages_of "$1" | xargs)" >&2
        return 0
    fi
    mapfile -t missing < <(packages_missing "$1")
    [ ${#missing[@]} -eq 0 ] && return 0
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null || { ! sudo -n true 2>/dev/null && [ ! -t 0 ]; }; then
            echo "install.sh: packages are missing, and installing them needs root or sudo; as root, run:" >&2
            echo "    apt-get update && apt-get install --no-install-recommends ${missing[*]}" >&2
            return 1
        fi
        as_root=(sudo)
    fi
    echo "installing: ${missing[*]}" >&2
    as_root+=(env DEBIAN_FRONTEND=noninteractive apt-get -qq -y -o Dpkg::Use-Pty=0 -o DPkg::Lock::Timeout=300 -o Acquire::Retries=3)
    case " ${missing[*]} " in
    *" tshark "*) # capturing as an ordinary user is nothing that tests should grant
        echo "wireshark-common wireshark-common/install-setuid boolean false" | "${as_root[@]:0:1}" debconf-set-selections ;;
    esac
    "${as_root[@]}" update >&2 && "${as_root[@]}" install --no-install-recommends "${missing[@]}" >&2
}

# fetch_tool PACKAGE FILE FOLDER: puts that file of the package below FOLDER without installing the package, which would also
# start a service.
fetch_tool()
{
    local package=$1 file=$2 folder=$3
    [ -x "$folder/$file" ] && return 0
    mkdir -p "$folder" || return
    # Where lists of packages were never fetched, or have aged, there is nothing to download by.
    (cd "$folder" && { apt-get -q download "$package" || { apt-get -q update && apt-get -q download "$package"; }; } &&
        dpkg-deb --fsys-tarfile "$package"_*.deb | tar -xf - "./$file" && rm "$package"_*.deb) >&2
    [ -x "$folder/$file" ]
}

# build_folder SOURCE NAME: sets build_root to a folder that can be written, and remove_build_root to yes where it is only for
# this run. In order: $ASLEFT_BUILD, SOURCE/NAME, the user's cache, a temporary folder.
build_folder()
{
    local source=$1 name=$2 mark candidate
    remove_build_root=no
    mark=$(printf '%s' "$source" | cksum | cut -d ' ' -f 1)
    for candidate in "${ASLEFT_BUILD:-}" "$source/$name" "${XDG_CACHE_HOME:-${HOME:-/nonexistent}/.cache}/asleft/$name-$mark"; do
        [ -n "$candidate" ] || continue
        # A folder that another user began counts as not writable: its files would stand in the way.
        if mkdir -p "$candidate" 2>/dev/null && [ -w "$candidate" ] && [ -O "$candidate" ]; then
            build_root=$(cd "$candidate" && pwd)
            return 0
        fi
        if [ "$candidate" = "${ASLEFT_BUILD:-}" ]; then
            echo "install.sh: ASLEFT_BUILD '$candidate' cannot be written" >&2
            return 1
        fi
    done
    remove_build_root=yes
    build_root=$(mktemp -d -t asleft-build.XXXXXX)
}

# configure SOURCE FOLDER [OPTION...]: cmake, from nothing where the folder was made for another source tree.
configure()
{
    local source=$1 folder=$2
    shift 2
    local before
    before=$(sed -n 's/^CMAKE_HOME_DIRECTORY:INTERNAL=//p' "$folder/CMakeCache.txt" 2>/dev/null)
    if [ -n "$before" ] && [ "$before" != "$source" ]; then
        rm -rf "$folder"
    fi
    cmake -S "$source" -B "$folder" -G Ninja "$@"
}

if [ "${BASH_SOURCE[0]}" = "$0" ]; then
    if [ $# -ne 1 ]; then
        echo "use: tests/install.sh build|tests|all" >&2
        exit 64
    fi
    install_packages "$1"
fi
