#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Each room includes only rooms that it may, and only the libraries that are its business.
import os
import re

import source

# What a room may include besides itself, rooms or single headers. Nothing reaches back up, and the simulator shares no encoding with bus/.
MAY_INCLUDE = {
    "types": (),
    "motor": ("types",),
    "bus": ("types", "motor/quantity.h"),  # units, for values in the register's own
    "store": ("types",),
    "files": ("types", "motor"),
    "verdict": ("types", "motor", "bus"),
    "witness": ("types", "motor", "bus"),
    "visit": ("types", "motor", "bus", "verdict"),
    "report": ("types", "motor"),
    "change": ("types", "motor", "bus", "store", "verdict", "visit"),
    "sweep": ("types", "bus", "store", "verdict", "visit"),
    "sim": ("types", "motor", "files"),
    "command": ("types", "motor", "bus", "store", "files", "verdict", "witness", "visit", "report", "change", "sweep"),
    "main": ("types", "command"),
}
LIBRARIES = {
    r"modbus(/.*)?\.h": ("bus", "sim"),
    r"yaml\.h": ("files",),
    r"jansson\.h": ("report",),
    r"sha2\.h": ("files", "change"),
    r"sqlite3\.h": ("store",),
    r"pthread\.h|threads\.h": ("bus",),
}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


def check_own(path, number, room, name):
    target = name.split("/")[0]
    base = source.ROOT if target == "sim" else os.path.join(source.ROOT, "src")
    if not os.path.isfile(os.path.join(base, name)):
        return [f'{path}:{number}: "{name}" is not a file below src or sim; write "room/file.h"']
    if target != room and target not in MAY_INCLUDE[room] and name not in MAY_INCLUDE[room]:
        return [f"{path}:{number}: {room} may not include {target} ({', '.join(MAY_INCLUDE[room]) or 'nothing'} it may)"]
    return []


def check_library(path, number, room, name):
    for pattern, rooms in LIBRARIES.items():
        if re.fullmatch(pattern, name) and room not in rooms:
            return [f"{path}:{number}: <{name}> is for {', '.join(rooms)} only"]
    return []


def main():
    complaints = []
    checked = 0
    for path in source.files("src", "sim"):
        checked += 1
        room = source.room_of(path)
        if room not in MAY_INCLUDE:
            complaints.append(f"{path}: room '{room}' has no row in {os.path.basename(__file__)}")
            continue
        for number, line in source.code_lines(path, keep_strings=True):
            match = INCLUDE.match(line)
            if match:
                check = check_own if match.group(1) == '"' else check_library
                complaints += check(path, number, room, match.group(2))
    source.finish(checked, "files", complaints)


main()
