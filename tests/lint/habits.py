#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Calls that a room may not make: printing and ending from library rooms, numbers read by the locale, setting the locale.
import re

import source

LIBRARY_ROOMS = ("types", "motor", "bus", "files", "visit", "verdict", "store", "change", "witness", "sweep")

# (what it is called, pattern, which rooms, files that may)
RULES = (
    (
        "a library room prints nothing",
        re.compile(r"\b(v?f?printf|v?dprintf|f?puts|f?put[cs]|putchar|perror|psignal|stdout|stderr)\b"),
        LIBRARY_ROOMS,
        ("src/types/memory.c",),
    ),
    (
        "a library room never ends the program",
        re.compile(r"\b(_?exit|_Exit|quick_exit|abort|err|errx|verr|raise|kill)\s*\("),
        LIBRARY_ROOMS + ("report",),
        ("src/types/memory.c", "src/bus/loop.c"),  # out of memory; out of descriptors before anything began
    ),
    (
        "a report goes to the stream that it is given",
        re.compile(r"\b(printf|vprintf|puts|putchar|perror|stdout|stderr)\b"),
        ("report",),
        (),
    ),
    (
        "numbers are read by motor/quantity.h, the same in every locale",
        re.compile(r"\b(strto(d|f|ld|l|ll|ul|ull|imax|umax)|ato(f|i|l|ll)|v?[fs]?scanf)\s*\("),
        None,
        # whole numbers: a message's line and column, and the simulator's "raw 0x0258"
        ("src/motor/quantity.c", "src/motor/number.c", "src/report/doc_proofread.c", "sim/assign.c"),
    ),
    ("memory comes from types/memory.h", re.compile(r"\b([mc]alloc|realloc|strdup|strndup|v?asprintf)\s*\("), None,
     ("src/types/memory.c",)),
    ("no bounded call's unbounded sister", re.compile(r"\b(gets|strcpy|strcat|v?sprintf|stpcpy|alloca)\s*\("), None, ()),
    ("letters are compared without the locale", re.compile(r"\b(strn?casecmp|strcoll|toupper|tolower)\s*\("), None, ()),
)
SETLOCALE = re.compile(r"\b(setlocale|newlocale|uselocale|freelocale)\s*\(\s*(\w*)")
LOCALE_OBJECTS = ("src/motor/number.c",)  # reads and writes numbers under the C locale, whatever the thread has


def main():
    complaints = []
    paths = source.files("src", "sim")
    for path in paths:
        room = source.room_of(path)
        for number, line in source.code_lines(path):
            if line.lstrip().startswith("#"):
                continue
            line = line.replace("format(printf", "")
            for rule, pattern, rooms, exempt in RULES:
                match = pattern.search(line)
                if match and (rooms is None or room in rooms) and path not in exempt:
                    complaints.append(f"{path}:{number}: '{match.group(0).strip()}': {rule}")
            match = SETLOCALE.search(line)
            if match and path not in LOCALE_OBJECTS and (match.group(1) != "setlocale" or match.group(2) != "LC_CTYPE"):
                complaints.append(f"{path}:{number}: '{match.group(0)}': only setlocale(LC_CTYPE, ...) is called")
    source.finish(len(paths), "files", complaints)


main()
