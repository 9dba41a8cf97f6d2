#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# No function and no file grows longer than a reader can hold in mind.
import source

LONGEST_FUNCTION = 80
LONGEST_FUNCTION_COMMAND = 120
LONGEST_FILE = 500


def functions(lines):
    """(name line, first, last) of each function; clang-format puts a function's braces alone in the first column."""
    first = None
    for number, line in lines:
        if line == "{":
            first = number
        elif line == "}" and first is not None:
            start = first
            # The signature: up to the blank line or directive above, at most a handful of lines.
            while start > 1 and lines[start - 2][1].strip() and not lines[start - 2][1].startswith(("#", "}")):
                start -= 1
            yield lines[start - 1][1].strip(), start, number
            first = None


def main():
    complaints = []
    checked = 0
    for path in source.files("src", "sim"):
        room = source.room_of(path)
        lines = source.code_lines(path)
        length = len(lines) - 1
        if length > LONGEST_FILE:
            complaints.append(f"{path}: {length} lines, at most {LONGEST_FILE}; split it by subject")
        allowed = LONGEST_FUNCTION_COMMAND if room in ("command", "main") else LONGEST_FUNCTION
        for signature, first, last in functions(lines):
            checked += 1
            if last - first + 1 > allowed:
                complaints.append(f"{path}:{first}: {last - first + 1} lines, at most {allowed}: {signature}")
    source.finish(checked, "functions", complaints)


main()
