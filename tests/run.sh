#!/bin/bash
# SPDX-License-Identifier: MIT
# Installs what is missing, builds, and runs the tests; the last line says how many passed and failed.
#
#   tests/run.sh              the suite under the address and undefined-behaviour sanitizers, in under three minutes
#   tests/run.sh --all        also both compilers, formats, lints, valgrind, schemas, pages, locales, an installed copy, figures
#   tests/run.sh --coverage   the suite, and the line coverage of src/ (at least 85 %)
#   tests/run.sh --long       the suite twenty times over, which finds what fails only now and then, 20,000 faulted
#                             requests in real time, and five times the trials of writing
set -u

source_dir=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$source_dir/tests/install.sh"
. "$source_dir/tests/steps.sh"

mode=suite
case ${1:-} in
'') ;;
--all | --coverage | --long) mode=${1#--} ;;
--help)
    sed -n 's/^#   //p' "${BASH_SOURCE[0]}"
    exit 0
    ;;
*)
    echo "use: tests/run.sh [--all|--coverage|--long]" >&2
    exit 64
    ;;
esac
if [ $# -gt 1 ]; then
    echo "run.sh: one option at a time" >&2
    exit 64
fi

unset CDPATH NO_COLOR CLICOLOR_FORCE LANGUAGE
export LC_ALL=C.UTF-8 PYTHONDONTWRITEBYTECODE=1
# Status 99 keeps a sanitizer's report apart from asleft's own statuses, of which 1 is "differs".
export ASAN_OPTIONS=exitcode=99:detect_stack_use_after_return=1 UBSAN_OPTIONS=exitcode=99:print_stacktrace=1 LSAN_OPTIONS=exitcode=99

tier=tests
[ "$mode" = all ] || [ "$mode" = coverage ] && tier=all
install_packages "$tier" || exit 1
build_folder "$source_dir" build-tests || exit 1
logs=$(mktemp -d -t asleft-logs.XXXXXX) || exit 1
clean_up()
{
    [ -z "${tidying:-}" ] || kill "$tidying" 2>/dev/null
    rm -rf "$logs"
    [ "$remove_build_root" = no ] || rm -rf "$build_root"
}
trap clean_up EXIT
trap 'exit 130' INT TERM

passed=0
failed=0
repeat=()
[ "$mode" = long ] && repeat=(--repeat until-fail:20)
sanitized=$build_root/sanitized

case $mode in
suite | long)
    # Without a build there is nothing to run but old programs.
    step "build, gcc with sanitizers" build_tree "$sanitized" gcc -DASLEFT_SANITIZE=ON &&
        suite "suite" "$sanitized" "${repeat[@]}" && [ "$mode" = long ] &&
        ASLEFT_LONG=1 suite "20,000 faulted requests in real time, five times the trials of writing" "$sanitized" \
            -R 'test_faulty_ptys|all_unconfirmed|test_never_asked|test_killed_writes'
    ;;
coverage)
    step "build for coverage" build_tree "$build_root/coverage" gcc -DASLEFT_COVERAGE=ON && {
        find "$build_root/coverage" -name '*.gcda' -delete
        suite "suite, counting lines" "$build_root/coverage" -LE lint
        step -v "line coverage of src at least 85 %" line_coverage "$build_root/coverage" 85
    }
    ;;
all)
    . "$source_dir/tests/all.sh"
    ;;
esac

echo
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
