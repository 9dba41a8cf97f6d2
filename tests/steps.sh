#!/bin/bash
# SPDX-License-Identifier: MIT
# The steps that tests/run.sh is made of; it sources this file and owns source_dir, build_root, logs, passed and failed.
# shellcheck disable=SC2154 # those variables are the caller's

jobs=$(nproc)
with=()

# step [-v] NAME COMMAND...: one line where it passes (all output with -v), the command's last output where it fails.
step()
{
    local verbose=no
    if [ "$1" = -v ]; then
        verbose=yes
        shift
    fi
    local name=$1 began=$SECONDS status
    shift
    "$@" >"$logs/step" 2>&1 </dev/null
    status=$?
    if [ $status -eq 0 ]; then
        passed=$((passed + 1))
        echo "ok    $name ($((SECONDS - began)) s)"
        [ $verbose = no ] || cat "$logs/step"
    else
        failed=$((failed + 1))
        echo "FAIL  $name (status $status): $*"
        tail -n 80 "$logs/step"
    fi
    return $status
}

# build_tree FOLDER COMPILER [CMAKE OPTION...]
build_tree()
{
    local folder=$1 compiler=$2
    shift 2
    configure "$source_dir" "$folder" -DCMAKE_C_COMPILER="$compiler" -DASLEFT_WERROR=ON "$@" && cmake --build "$folder" -j "$jobs"
}

# suite NAME FOLDER [CTEST OPTION...]: runs ctest (behind the words of `with`, if the caller has some) and adds its test
# functions to passed and failed.
suite()
{
    local name=$1 folder=$2 began=$SECONDS status results counted
    shift 2
    results=$logs/results.xml
    rm -f "$results"
    "${with[@]}" ctest --test-dir "$folder" --no-tests=error --output-on-failure -j $((4 * jobs)) --output-junit "$results" \
        --test-output-size-passed 4194304 --test-output-size-failed 4194304 "$@" >"$logs/suite" 2>&1 </dev/null
    status=$?
    if counted=$("$source_dir/tests/count.py" "$results" 2>>"$logs/suite"); then
        passed=$((passed + ${counted% *}))
        failed=$((failed + ${counted#* }))
    fi
    if [ $status -eq 0 ] && [ -n "$counted" ]; then
        echo "ok    $name: ${counted% *} tests ($((SECONDS - began)) s)"
        return 0
    fi
    echo "FAIL  $name (ctest status $status, $((SECONDS - began)) s)"
    cat "$logs/suite"
    # Where not even a result was written, or it does not show what ctest complains about.
    if [ -z "$counted" ] || [ "${counted#* }" -eq 0 ]; then
        failed=$((failed + 1))
    fi
    return 1
}

# line_coverage FOLDER FLOOR: gcovr's table for src, failing below the floor.
line_coverage()
{
    gcovr --root "$source_dir" --filter "$source_dir/src/" --fail-under-line "$2" --print-summary "$1"
}
