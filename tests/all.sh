#!/bin/bash
# SPDX-License-Identifier: MIT
# The steps of tests/run.sh --all, which sources this file: both compilers, analysers, leaks, schemas, pages, locales, an install.
# shellcheck disable=SC2154 # source_dir, build_root, logs, jobs and sanitized are run.sh's and steps.sh's

plain=$build_root/plain
clang=$build_root/clang
c_files() { (cd "$source_dir" && find src sim tests -name '*.[ch]' | sort); }

formats_hold()
{
    cd "$source_dir" || return
    c_files | xargs clang-format --dry-run -Werror
}

# The analyser takes minutes of computing while the suites mostly wait: it runs beside them, and its step is when it is due.
tidy()
{
    cd "$source_dir" || return
    find src sim -name '*.c' | sort | xargs -n 1 -P "$jobs" nice clang-tidy --quiet -p "$clang"
}

begin_tidy()
{
    configure "$source_dir" "$clang" -DCMAKE_C_COMPILER=clang -DASLEFT_WERROR=ON -DASLEFT_SANITIZE=ON -DASLEFT_MANY_TRIALS=OFF || return
    tidy >"$logs/tidy" 2>&1 &
    tidying=$!
}

end_tidy()
{
    wait "$tidying"
    local status=$?
    cat "$logs/tidy"
    return $status
}

# Programs that run asleft and asleft-sim under valgrind; the whole-program tests are then run with these.
make_wrapper()
{
    cat >"$1" <<END
#!/bin/sh
exec valgrind -q --leak-check=full --errors-for-leak-kinds=definite,indirect,possible --track-fds=no \\
    --error-exitcode=99 --log-file="$logs/valgrind.%p" "$2" "\$@"
END
    chmod +x "$1"
}

leaks()
{
    local script status=0
    rm -f "$logs"/valgrind.*
    make_wrapper "$logs/asleft" "$plain/asleft"
    make_wrapper "$logs/asleft-sim" "$plain/asleft-sim"
    for script in test_cli_files test_cli_drive; do # the drives of the second are simulated under valgrind too
        ASLEFT=$logs/asleft ASLEFT_SIM=$logs/asleft-sim ASLEFT_SOURCE_DIR=$source_dir \
            "$source_dir/tests/whole/$script.py" || status=1
    done
    # Each process wrote a log; one with something in it is a leak or worse, whatever the status was. What valgrind says of
    # the ioctls that take a serial port for one program alone (TIOCEXCL, TIOCNXCL) is not about us.
    if ! ls "$logs"/valgrind.* >/dev/null; then
        echo "valgrind wrote no log, so nothing ran under it"
        return 1
    fi
    if grep -hv -e 'unhandled ioctl 0x540[cd] ' -e 'This could cause spurious value errors' -e 'See README_MISSING' "$logs"/valgrind.*; then
        return 1
    fi
    return $status
}

schemas_hold()
{
    ASLEFT=$plain/asleft ASLEFT_SIM=$plain/asleft-sim ASLEFT_SOURCE_DIR=$source_dir "$source_dir/tests/schemas.py"
}

# JUnit XML and OpenMetrics are read by programs that nobody here wrote.
formats_are_read()
{
    fetch_tool prometheus usr/bin/promtool "$build_root/prometheus" || return
    PROMTOOL=$build_root/prometheus/usr/bin/promtool ASLEFT=$plain/asleft ASLEFT_SIM=$plain/asleft-sim ASLEFT_SOURCE_DIR=$source_dir \
        "$source_dir/tests/formats.py"
}

# tshark decodes a capture of loopback and the bytes of a serial line as the trace does. Capturing needs root or sudo.
tshark_agrees()
{
    command -v tshark text2pcap || return
    ASLEFT=$plain/asleft ASLEFT_SIM=$plain/asleft-sim ASLEFT_SOURCE_DIR=$source_dir "$source_dir/tests/peers/test_trace_tshark.py"
}

# Pages in a browser without a network, on paper, and before an HTML checker.
pages_hold()
{
    command -v chromium pdftotext node npm || return
    ASLEFT=$plain/asleft ASLEFT_SIM=$plain/asleft-sim ASLEFT_SOURCE_DIR=$source_dir "$source_dir/tests/pages/check_pages.py"
}

figures()
{
    "$source_dir/tests/bench/run.py" "$plain"
}

# in_locale NAME: the suite where letters and numbers are written otherwise; the locale is made for this run alone.
in_locale()
{
    local with=(env LOCPATH="$logs/locales" LC_ALL="$1.UTF-8")
    mkdir -p "$logs/locales"
    step "make locale $1" localedef -i "$1" -f UTF-8 "$logs/locales/$1.UTF-8" || return
    step "locale $1 is in force" "${with[@]}" /usr/bin/python3 -c 'import locale; locale.setlocale(locale.LC_ALL, "")' || return
    suite "suite under $1" "$sanitized" -LE 'lint|slow'
}

# A copy installed elsewhere works from there, with the maps that came with it.
installed_copy()
{
    local root=$logs/root prefix
    rm -rf "$root"
    DESTDIR=$root cmake --install "$plain" || return
    prefix=$root$(sed -n 's/^CMAKE_INSTALL_PREFIX:PATH=//p' "$plain/CMakeCache.txt")
    cd / || return
    "$prefix/bin/asleft" --version || return
    "$prefix/bin/asleft-sim" --help >/dev/null || return
    "$prefix/bin/asleft" proofread "$prefix"/share/asleft/maps/*.yaml || return
    "$prefix/bin/asleft" setpoints "$prefix/share/asleft/maps/sheets/P-204.yaml" >/dev/null || return
    ls "$prefix/share/doc/asleft/README.md"
}

demo()
{
    cd / && "$source_dir/sim/demo.sh" && "$source_dir/sim/demo.sh"
}

# As somebody who may not write to the source tree, which is what a downloaded copy for all users looks like.
demo_as_nobody()
{
    local copy=$logs/tree
    if [ "$(id -u)" -ne 0 ]; then
        echo "not root, so the demonstration ran as somebody else already"
        return 0
    fi
    rm -rf "$copy"
    mkdir "$copy" && chmod 755 "$logs" "$copy" || return
    tar -C "$source_dir" --exclude=./.git --exclude='./build*' -cf - . | tar -C "$copy" -xf - || return
    chmod -R go+rX,go-w "$copy"
    env -i PATH="$PATH" setpriv --reuid=65534 --regid=65534 --clear-groups --no-new-privs "$copy/sim/demo.sh"
}

step "clang-format" formats_hold
step "clang-tidy begins" begin_tidy
step "build, gcc with sanitizers" build_tree "$sanitized" gcc -DASLEFT_SANITIZE=ON && {
    suite "suite, gcc" "$sanitized"
    in_locale tr_TR
    in_locale de_DE
}
step "build, clang with sanitizers" build_tree "$clang" clang -DASLEFT_SANITIZE=ON -DASLEFT_MANY_TRIALS=OFF && {
    suite "unit tests, clang" "$clang" -L unit -LE slow
    step "clang-tidy" end_tidy
}
step "build, gcc as released" build_tree "$plain" gcc -DASLEFT_TESTS=OFF && {
    step "valgrind" leaks
    step "JSON schemas" schemas_hold
    step "JUnit XML and OpenMetrics are read by others" formats_are_read
    step "tshark agrees with the trace" tshark_agrees
    step "pages in a browser, on paper, checked" pages_hold
    step "installed copy" installed_copy
    step -v "figures" figures
}
step "demonstration, twice" demo
step "demonstration, source read-only" demo_as_nobody
