# SPDX-License-Identifier: MIT
# What the lint scripts share: which files there are, C text without comments and strings, and how a complaint ends.
import os
import re
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SKIPPED_FOLDERS = re.compile(r"^(\.git|build.*|__pycache__)$")


def files(*folders, suffixes=(".c", ".h")):
    """Paths, relative to the root, of the files below these folders that end in one of the suffixes."""
    found = []
    for folder in folders:
        for path, names, entries in os.walk(os.path.join(ROOT, folder)):
            names[:] = sorted(name for name in names if not SKIPPED_FOLDERS.match(name))
            found += [os.path.relpath(os.path.join(path, e), ROOT) for e in sorted(entries) if e.endswith(suffixes)]
    return found


def read(path):
    with open(os.path.join(ROOT, path), encoding="utf-8") as stream:
        return stream.read()


TOKENS = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'', re.S)


def code_lines(path, keep_strings=False):
    """The file's lines with comments (and strings) blanked out, numbered from 1."""

    def blank(match):
        text = match.group(0)
        if text[0] in "\"'":
            return text if keep_strings else '""'
        return "\n" * text.count("\n") or " "

    return list(enumerate(TOKENS.sub(blank, read(path)).split("\n"), 1))


def room_of(path):
    """src/bus/link.c -> bus, src/main.c -> main, sim/main.c -> sim."""
    parts = path.split(os.sep)
    if parts[0] != "src":
        return parts[0]
    return parts[1] if len(parts) > 2 else "main"


def finish(checked, what, complaints):
    """Prints the complaints and exits; nothing to check is a failure too, since then the lint proves nothing."""
    if checked == 0:
        complaints = complaints + [f"no {what} found to check"]
    for complaint in complaints:
        print(complaint)
    print(f"{checked} {what} checked, {len(complaints)} complaints")
    sys.exit(1 if complaints else 0)
