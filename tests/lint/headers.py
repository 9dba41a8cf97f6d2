#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Each header compiles alone: it includes what it needs, and names its guard after its path.
import os
import re
import subprocess

import source

LIBRARIES = ("libmodbus", "yaml-0.1", "jansson", "libmd")


def guard_of(path):
    parts = re.sub(r"^src/", "", path)
    return "ASLEFT_" + re.sub(r"[^A-Za-z0-9]", "_", parts).upper()


def main():
    compiler = os.environ.get("CC", "cc")
    flags = subprocess.run(["pkg-config", "--cflags", *LIBRARIES], check=True, capture_output=True, text=True)
    command = [compiler, "-std=c11", "-D_GNU_SOURCE", "-Wall", "-Wextra", "-Werror", "-fsyntax-only", "-x", "c", "-"]
    command += [f"-I{source.ROOT}/src", f"-I{source.ROOT}", *flags.stdout.split()]
    paths = source.files("src", "sim", suffixes=(".h",))
    complaints = []
    for path in paths:
        # Twice: the guard must hold. The declaration keeps a header of macros only from being an empty unit.
        text = f'#include "{source.ROOT}/{path}"\n' * 2 + "extern int unused_here;\n"
        result = subprocess.run(command, input=text, capture_output=True, text=True)
        if result.returncode != 0:
            complaints.append(f"{path} does not compile alone:\n{result.stderr}")
        if f"#ifndef {guard_of(path)}\n#define {guard_of(path)}\n" not in source.read(path):
            complaints.append(f"{path}: the guard is not {guard_of(path)}")
    source.finish(len(paths), "headers", complaints)


main()
