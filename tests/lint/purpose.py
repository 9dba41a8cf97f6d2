#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Every file begins with its licence and with a sentence that says what it is for.
import os
import re

import source

LICENCE = "SPDX-License-Identifier: MIT"
SCRIPTS = (".py", ".sh", ".cmake", "CMakeLists.txt", os.path.join(".ci", "run"))


def complaint_about(path):
    lines = source.read(path).split("\n")
    if lines[0].startswith("#!"):
        lines = lines[1:]
    in_c = path.endswith((".c", ".h"))
    licence = f"/* {LICENCE} */" if in_c else f"# {LICENCE}"
    if lines[0] != licence:
        return f"{path}: the first line is not '{licence}'"
    purpose = lines[1] if len(lines) > 1 else ""
    sentence = re.match(r"/\* \S+(?: \S+){2,}" if in_c else r"# \S+(?: \S+){2,}", purpose)
    if not sentence:
        return f"{path}: the line after the licence does not say what the file is for"
    return None


def main():
    paths = source.files("src", "sim", "tests") + source.files("src", "sim", "tests", ".ci", suffixes=SCRIPTS)
    paths += ["CMakeLists.txt", os.path.join(".ci", "run")]
    complaints = [complaint for complaint in map(complaint_about, paths) if complaint]
    source.finish(len(paths), "files", complaints)


main()
