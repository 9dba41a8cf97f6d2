#!/bin/bash
# SPDX-License-Identifier: MIT
# The demonstration: an invented drive set up with mistakes, and what asleft finds; ends 0 when it found exactly these.
#
# Installs what building needs (Debian 12), builds, starts the simulator on a free port of this machine, and removes everything
# that it started or wrote. No drive and no motor is touched.
set -u

source_dir=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$source_dir/tests/install.sh"

sheet=$source_dir/maps/sheets/P-204-misread.yaml
map=$source_dir/maps/quayside-compact.yaml

# What somebody could have got wrong at this drive's keypad, with each parameter that must then be found.
mistakes=(
    "motor_current=6.0 A"             # the 230 V column of the plate; the motor is connected for 460 V
    "motor_speed=1800 rpm"            # synchronous speed instead of the plate's
    "motor_power=2.00 kW"             # 2 hp taken for 2 kW
    "acceleration_time=1 s"           # 10 s with the point slipped
    "restart_after_power_return=restart" # the pump would start by itself when power returns
)
# The sheet itself has one slip: the efficiency's digits exchanged, so that the nameplate's current does not fit.
expected="acceleration_time differs
motor_current differs
motor_power differs
motor_speed differs
restart_after_power_return differs
sheet.motor.rated_current implausible"

simulator=
folder=
clean_up()
{
    if [ -n "$simulator" ]; then
        exec 3>&-
        kill "$simulator" 2>/dev/null
        wait "$simulator" 2>/dev/null
    fi
    [ -z "$folder" ] || rm -rf "$folder"
    [ "${remove_build_root:-no}" = no ] || rm -rf "$build_root"
}
trap clean_up EXIT
trap 'exit 130' INT
trap 'exit 143' TERM

fail()
{
    echo "demo.sh: $*" >&2
    exit 1
}

say()
{
    printf '\n== %s\n' "$*"
}

build()
{
    install_packages build || exit 1
    build_folder "$source_dir" build-demo || exit 1
    folder=$(mktemp -d -t asleft-demo.XXXXXX) || exit 1
    echo "building in $build_root"
    if ! { configure "$source_dir" "$build_root" -DASLEFT_TESTS=OFF && cmake --build "$build_root"; } >"$folder/build.log" 2>&1; then
        cat "$folder/build.log" >&2
        fail "the build failed"
    fi
    PATH=$build_root:$PATH
}

# Starts the simulator with the mistakes and waits until it says where it listens; sets host, port and unit.
start_simulator()
{
    local mistake settings=() ready
    for mistake in "${mistakes[@]}"; do
        settings+=(--set "$mistake")
    done
    # Its keypad is a pipe that stays open in descriptor 3; its line "ready tcp HOST:PORT unit N" comes through 4.
    mkfifo "$folder/keypad" "$folder/ready" || exit 1
    asleft-sim --map "$map" --as "$sheet" --tcp 127.0.0.1:0 "${settings[@]}" <"$folder/keypad" >"$folder/ready" &
    simulator=$!
    exec 3>"$folder/keypad"
    exec 4<"$folder/ready"
    read -r ready <&4 || fail "the simulator did not start"
    read -r _ _ address _ unit <<<"$ready"
    host=${address%:*}
    port=${address##*:}
    echo "asleft-sim is process $simulator and listens on $address as unit $unit; mistakes set:"
    printf '    %s\n' "${mistakes[@]}"
}

# parameter (or the sheet's means) and verdict of everything that is not in order, sorted; from the CSV, whose columns
# are found by their names.
findings()
{
    awk -F, '
        { sub(/\r$/, "") }
        NR == 1 { for (i = 1; i <= NF; i++) column[$i] = i; next }
        {
            verdict = $column["verdict"]
            if (verdict != "differs" && verdict != "implausible" && verdict != "unread")
                next
            name = $column["parameter"]
            print (name == "" ? $column["means"] : name), verdict
        }' "$1" | LC_ALL=C sort
}

build

say "the sheet, without a drive: asleft proofread"
asleft proofread "$sheet"
[ $? -eq 1 ] || fail "proofread should have found the nameplate implausible (status 1)"

say "a drive with mistakes: asleft-sim"
start_simulator

say "the drive against its sheet: asleft verify"
asleft verify "$sheet" --host "$host" --port "$port"
[ $? -eq 1 ] || fail "verify should have ended with status 1, something differs"

asleft verify "$sheet" --host "$host" --port "$port" --format csv --output "$folder/findings.csv"
found=$(findings "$folder/findings.csv")
say "checked"
if [ "$found" != "$expected" ]; then
    echo "expected:" && echo "$expected"
    echo "found:" && echo "$found"
    fail "the findings are not the expected ones"
fi
echo "exactly the ${#mistakes[@]} mistakes and the sheet's own slip were found; the simulator is stopped now"
